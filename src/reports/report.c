/* What the builders share. */
#include "reports/report.h"

#include <string.h>

#include "records/calendar.h"
#include "records/stamp.h"

const char *report_say(const ReportWords *words, const char *key)
{
    return words->get(words->context, "report", key);
}

const char *report_fill(Page *page, const ReportWords *words, const char *key,
                        const ReportFill fills[])
{
    Text text = {0};
    for (const char *at = report_say(words, key); *at != '\0';) {
        const ReportFill *fill = fills;
        size_t len = *at == '{' ? strcspn(at, "}") : 0;
        while (len > 0 && fill->name != NULL &&
               !(strlen(fill->name) == len - 1 && strncmp(fill->name, at + 1, len - 1) == 0)) {
            fill++;
        }
        if (len > 0 && fill->name != NULL) {
            text_add(&text, fill->value);
            at += len + 1;
        } else {
            text_add_bytes(&text, at++, 1);
        }
    }
    const char *kept = page_keep(page, text_string(&text));
    text_clear(&text);
    return kept;
}

Page *report_page(const char *report, const char *title_key, const ReportFill fills[],
                  const ReportHead *head, const ReportWords *words)
{
    Text number = {0};
    Page *page = page_new(report, words->language, head->as_of_us);
    text_addf(&number, "%lld", (long long)head->entries);
    page->title = report_fill(page, words, title_key, fills);
    const ReportFill below[] = {
        {"site", head->site}, {"time", report_time(page, head->as_of_us)}, {NULL, NULL}};
    page->subtitle =
        report_fill(page, words, head->site[0] == '\0' ? "as-of" : "as-of-site", below);
    const ReportFill foot[] = {
        {"station", head->station}, {"number", number.bytes}, {"hash", head->hash}, {NULL, NULL}};
    page->foot =
        report_fill(page, words, head->station[0] == '\0' ? "foot-no-store" : "foot", foot);
    text_clear(&number);
    return page;
}

const char *report_name(const ReportWords *words, const char *name)
{
    return name[0] == '\0' ? report_say(words, "name-erased") : name;
}

const char *report_time(Page *page, int64_t time_us)
{
    char stamp[REC_STAMP_BYTES];
    Text text = {0};
    rec_stamp_print(time_us, stamp);
    text_addf(&text, "%.10s %.5s UTC", stamp, stamp + 11);
    const char *kept = page_keep(page, text.bytes);
    text_clear(&text);
    return kept;
}

const char *report_day(Page *page, int32_t day)
{
    char text[REC_DAY_BYTES];
    if (day == 0) return "";
    rec_day_print(day, text);
    return page_keep(page, text);
}

PageMark report_mark(RecState state, bool from_paper)
{
    static const PageMark marks[REC_STATE_COUNT] = {
        [REC_IN_TRAINING] = PAGE_IN_TRAINING,
        [REC_ASSESSED] = PAGE_ASSESSED,
        [REC_OBSERVED] = PAGE_OBSERVED,
        [REC_STANDS] = PAGE_SIGNED,
        [REC_DUE] = PAGE_DUE,
        [REC_LAPSED] = PAGE_LAPSED,
        [REC_WITHDRAWN] = PAGE_WITHDRAWN,
    };
    return from_paper && state == REC_STANDS ? PAGE_FROM_PAPER : marks[state];
}

bool report_is_signed(const RecStanding *standing)
{
    return standing->state == REC_STANDS || standing->state == REC_DUE;
}

void report_cell(Page *page, const ReportWords *words, const RecCell *cell)
{
    bool stands = cell->state == REC_STANDS || cell->state == REC_DUE;
    Text text = {0};
    text_add(&text, report_say(words, rec_state_words[cell->state]));
    if (cell->from_paper) text_addf(&text, ", %s", report_say(words, "from-paper"));
    if (cell->with_buddy) text_addf(&text, ", %s", report_say(words, "with-buddy"));
    if (cell->provisional) text_addf(&text, ", %s", report_say(words, "provisional"));
    const ReportFill until[] = {{"date", report_day(page, cell->next_day)}, {NULL, NULL}};
    const char *note = stands && cell->next_day != 0 ? report_fill(page, words, "until", until)
                                                     : report_day(page, cell->since_day);
    page_cell(page, report_mark(cell->state, cell->from_paper), text.bytes, note);
    text_clear(&text);
}

void report_caution(Page *page, const ReportWords *words, const char *key)
{
    page_caution(page, report_say(words, key));
}

void report_paragraph(Page *page, const ReportWords *words, const char *key)
{
    page_paragraph(page, report_say(words, key));
}

void report_column(Page *page, const ReportWords *words, const char *key)
{
    page_column(page, key, report_say(words, key));
}

void report_field(Page *page, const ReportWords *words, const char *key, const char *value)
{
    page_field(page, key, report_say(words, key), value);
}

void report_table(Page *page, const ReportWords *words, const char *key)
{
    page_table(page, key, report_say(words, key));
}

void report_plain(Page *page, const char *text)
{
    page_cell(page, PAGE_PLAIN, text, "");
}
