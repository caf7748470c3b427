/* threepass report: the pages are told in report_page.c; here
 * report items: which questions and rubric lines of the stored runs' scenarios work. */
#include <stdio.h>
#include <string.h>

#include "app/gather.h"
#include "app/reports.h"
#include "cli/cli.h"

/* One sentence for people: of a question, and of a line of the rubric. */
static const char *sentence(ItemVerdict verdict, bool is_question)
{
    static const char *const sentences[ITEM_VERDICT_COUNT][2] = {
        [ITEM_TOO_FEW] = {"Too few runs to say anything but these counts.",
                          "Too few runs to say anything but these counts."},
        [ITEM_ALL_RIGHT] =
            {"Everybody does it, or nearly: good after training, but it tells nobody "
             "apart.",
             "Everybody gets it right, or nearly: it teaches nothing."},
        [ITEM_NONE_RIGHT] = {"Nobody does it: look at the line itself first, then at the training.",
                             "Nobody gets it right: look at the question and its key first."},
        [ITEM_BACKWARDS] = {"Who does well elsewhere misses it: look at the line itself first.",
                            "Who does well elsewhere gets it wrong: look at its key first."},
        [ITEM_TELLS_APART] = {"It tells people apart: who does well elsewhere does it.",
                              "It tells people apart: who does well elsewhere gets it right."},
        [ITEM_OPEN] = {"Whether it tells people apart these runs do not show.",
                       "Whether it tells people apart these runs do not show."},
        [ITEM_NO_REST] = {"Nothing else differs between these runs, so it cannot be compared.",
                          "Nothing else differs between these runs, so it cannot be compared."},
    };
    return sentences[verdict][is_question];
}

/* --- For people ------------------------------------------------------------------------------ */

static void tell_answers(const Item *item, Text *out)
{
    if (item->figures.reached == 0) return;
    for (int i = 0; i < item->scene->answer_count; i++) {
        const Answer *answer = &item->scene->answers[i];
        text_addf(out, "      %5zu x %s %s: %s\n", item->chosen[i],
                  answer->right ? "right" : "wrong", answer->id, site_text(answer->text, "en"));
    }
}

static void tell_item(const Item *item, Text *out)
{
    const ItemFigures *figures = &item->figures;
    bool is_question = item->scene != NULL;
    const char *id = is_question ? item->scene->id : item->line->id;
    SiteText text = is_question ? item->scene->text : item->line->text;
    text_addf(out, "\n  %s %s: %s\n", is_question ? "question" : "line", id, site_text(text, "en"));
    text_addf(out, "      right %zu of %zu", figures->right, figures->reached);
    if (item->recovered > 0) text_addf(out, ", %zu of them put right in time", item->recovered);
    if (figures->verdict != ITEM_TOO_FEW) {
        text_addf(out, "; share %.2f, from %.2f to %.2f",
                  (double)figures->right / (double)figures->reached, figures->share.low,
                  figures->share.high);
    }
    if (figures->has_correlation) {
        text_addf(out, "; goes with the rest %+.2f, from %+.2f to %+.2f", figures->correlation,
                  figures->apart.low, figures->apart.high);
    }
    text_add(out, "\n");
    if (is_question) tell_answers(item, out);
    text_addf(out, "      %s\n", sentence(figures->verdict, is_question));
}

static void tell_group(const GatherGroup *group, Text *out)
{
    const Scenario *scenario = work_scenario(group->work);
    text_addf(out, "%s (%.8s): %zu runs, %zu people\n", scenario->id, group->scenario.hex,
              items_runs(group->items), group->people_count);
    for (size_t i = 0; i < items_count(group->items); i++) {
        Item item;
        items_read(group->items, i, &item);
        tell_item(&item, out);
    }
    text_add(out, "\n");
}

static void tell(const Gather *gather, Text *out)
{
    size_t runs = 0;
    size_t people = 0; /* of each scenario, added up */
    for (size_t i = 0; i < gather->count; i++) {
        tell_group(&gather->groups[i], out);
        runs += items_runs(gather->groups[i].items);
        people += gather->groups[i].people_count;
    }
    text_addf(out,
              "%zu runs. Shares and correlations are given from %d runs on, each with its interval "
              "of 95 in 100.\n",
              runs, ITEMS_RUNS_MIN);
    if (runs > people) {
        text_add(out, "Some people played more than once, and the intervals take no account of it; "
                      "--first takes each person's first run.\n");
    }
    if (gather->scripted > 0) {
        text_addf(out, "%zu scripted runs are left out; --scripted takes them too.\n",
                  gather->scripted);
    }
}

/* --- For programs ---------------------------------------------------------------------------- */

static void print_interval(const char *name, const ChanceInterval *interval, Text *out)
{
    text_addf(out, "\"%s\": {\"level\": 0.95, \"low\": ", name);
    json_add_number(out, interval->low);
    text_add(out, ", \"high\": ");
    json_add_number(out, interval->high);
    text_add(out, "}");
}

static void print_item(const Item *item, Text *out)
{
    const ItemFigures *figures = &item->figures;
    bool is_question = item->scene != NULL;
    text_addf(out, "{\"kind\": \"%s\", \"id\": \"%s\", \"reached\": %zu, \"right\": %zu",
              is_question ? "question" : "line", is_question ? item->scene->id : item->line->id,
              figures->reached, figures->right);
    if (is_question) {
        text_add(out, ", \"answers\": [");
        for (int i = 0; i < item->scene->answer_count; i++) {
            const Answer *answer = &item->scene->answers[i];
            text_addf(out, "%s{\"id\": \"%s\", \"right\": %s, \"chosen\": %zu}", i == 0 ? "" : ", ",
                      answer->id, answer->right ? "true" : "false", item->chosen[i]);
        }
        text_add(out, "]");
    } else {
        text_addf(out, ", \"recovered\": %zu", item->recovered);
    }
    if (figures->verdict != ITEM_TOO_FEW) {
        text_add(out, ", ");
        print_interval("interval", &figures->share, out);
    }
    if (figures->has_correlation) {
        text_add(out, ", \"correlation\": ");
        json_add_number(out, figures->correlation);
        text_add(out, ", ");
        print_interval("correlation_interval", &figures->apart, out);
    }
    text_addf(out, ", \"verdict\": \"%s\", \"says\": ", items_verdict_word(figures->verdict));
    text_add_quoted(out, sentence(figures->verdict, is_question));
    text_add(out, "}");
}

static void print(const Gather *gather, Text *out)
{
    text_addf(out, "{\"scripted_left_out\": %zu, \"scenarios\": [", gather->scripted);
    for (size_t i = 0; i < gather->count; i++) {
        const GatherGroup *group = &gather->groups[i];
        text_addf(out,
                  "%s{\"id\": \"%s\", \"scenario\": \"%s\", \"runs\": %zu, \"people\": %zu, "
                  "\"items\": [",
                  i == 0 ? "" : ",\n ", work_scenario(group->work)->id, group->scenario.hex,
                  items_runs(group->items), group->people_count);
        for (size_t j = 0; j < items_count(group->items); j++) {
            Item item;
            items_read(group->items, j, &item);
            text_add(out, j == 0 ? "\n  " : ",\n  ");
            print_item(&item, out);
        }
        text_add(out, "]}");
    }
    text_add(out, "]}\n");
}

int verb_report(int argc, char **argv, const CliFront *front)
{
    enum { STORE, FIRST, SCRIPTED, JSON };
    CliOption options[] = {[STORE] = {.name = "--store", .takes = "DIR"},
                           [FIRST] = {.name = "--first"},
                           [SCRIPTED] = {.name = "--scripted"},
                           [JSON] = {.name = "--json"},
                           {0}};
    CliWords words = {.min = 1, .max = 1};
    Text folder = {0};
    Text out = {0};
    Gather gather = {0};
    Records *records = NULL;
    Err err = {0};
    for (int i = 0; argc > 1 && reports_words[i] != NULL; i++) {
        if (strcmp(argv[1], reports_words[i]) == 0) return cli_report_page(argc, argv, front);
    }
    bool ok = cli_parse(argc, argv, options, &words, &err);
    if (ok && strcmp(words.words[0], "items") != 0) {
        ok = err_set(&err, ERR_INPUT,
                     "threepass: report knows board, tonight, person, certificate, line, "
                     "observation and items as its first word, not \"%s\"",
                     words.words[0]);
    }
    GatherSetup setup = {options[FIRST].given, options[SCRIPTED].given};
    ok = ok && cli_store_folder(&options[STORE], &folder, &err) &&
         rec_open(folder.bytes, REC_READ, THREEPASS_VERSION, NULL, &records, &err) &&
         gather_runs(records, &setup, &gather, &err);
    if (ok && options[JSON].given) print(&gather, &out);
    if (ok && !options[JSON].given) tell(&gather, &out);
    int code = ok ? cli_print(&out, CLI_DONE) : cli_fail(&err);
    gather_clear(&gather);
    rec_close(records);
    text_clear(&out);
    text_clear(&folder);
    return code;
}
