/* Turning the log and the score into words. */
#include "app/texts.h"

#include <stdlib.h>
#include <string.h>

#include "base/os.h"
#include "records/calendar.h"

enum {
    TEXTS_BYTES_MAX = 1024 * 1024,
    STORY_MAX = 500,
    SECTION_MAX = 500,
    NAME_BYTES = 32,
    LANGUAGE_BYTES = 16,
};

/* One sentence of the story: on which lines, and what is said. */
typedef struct {
    LogPattern on;
    const char *say;
} Sentence;

/* One text under its section and key. */
typedef struct {
    const char *section, *key, *text;
} Entry;

struct Texts {
    JsonDoc *document;
    Entry *entries; /* in the order of by_name: a picture of the window asks for a hundred */
    size_t entry_count;
    Sentence *story;
    size_t story_count;
    char language[LANGUAGE_BYTES]; /* of the scenarios' own texts: the file's name */
};

/* The field's name when `at` begins with "{name}"; returns what it takes up, else 0. */
static size_t field_at(const char *at, char name[NAME_BYTES])
{
    const char *close = *at == '{' ? strchr(at, '}') : NULL;
    size_t len = close == NULL ? 0 : (size_t)(close - at) - 1;
    if (len == 0 || len >= NAME_BYTES) return 0;
    memcpy(name, at + 1, len);
    name[len] = '\0';
    return len + 2;
}

/* Every "{name}" is a field of the lines that the sentence is said on. */
static bool want_fields(const JsonValue *say, const LogPattern *on, Err *err)
{
    for (const char *at = strchr(json_string(say), '{'); at != NULL; at = strchr(at + 1, '{')) {
        LogValue value;
        bool is_number;
        char name[NAME_BYTES] = "";
        if (field_at(at, name) == 0 || !log_field(&on->want, name, &value, &is_number)) {
            return err_at(err, json_place(say), "say holds \"{%s\", which is no field of \"%s\"",
                          name,
                          on->want.is_action ? log_action_word((ActionKind)on->want.kind)
                                             : log_happening_word((HappeningKind)on->want.kind));
        }
    }
    return true;
}

static bool read_sentence(const JsonValue *value, Sentence *out, Err *err)
{
    static const char *const keys[] = {"on", "say", NULL};
    const char *on;
    if (!json_want_object(value, "story", keys, err)) return false;
    if (!json_read_string(value, "on", true, 1, 200, &on, err)) return false;
    if (!json_read_string(value, "say", true, 1, 500, &out->say, err)) return false;
    ErrPlace place = json_place(json_get(value, "on"));
    place.column++; /* behind the quote */
    return log_parse_pattern(on, place, &out->on, err) &&
           want_fields(json_get(value, "say"), &out->on, err);
}

static int by_name(const void *a, const void *b)
{
    const Entry *one = a;
    const Entry *two = b;
    int order = strcmp(one->section, two->section);
    return order != 0 ? order : strcmp(one->key, two->key);
}

static bool read_section(Texts *texts, const char *section, Err *err)
{
    const JsonValue *root = json_root(texts->document);
    const JsonValue *value;
    if (!json_need(root, section, &value, err)) return false;
    if (json_kind(value) != JSON_OBJECT || json_count(value) > SECTION_MAX) {
        return err_at(err, json_place(value), "%s must be an object of texts, at most %d", section,
                      SECTION_MAX);
    }
    texts->entries = check_realloc(texts->entries, texts->entry_count + json_count(value) + 1,
                                   sizeof *texts->entries);
    for (size_t i = 0; i < json_count(value); i++) {
        Entry *entry = &texts->entries[texts->entry_count++];
        *entry = (Entry){section, json_key_at(value, i), NULL};
        if (!json_read_string(value, entry->key, true, 1, 500, &entry->text, err)) return false;
    }
    return true;
}

static bool read_texts(Texts *texts, Err *err)
{
    static const char *const keys[] = {"format",   "reasons",  "standing", "signing",
                                       "mistakes", "verdicts", "states",   "words",
                                       "ui",       "report",   "story",    NULL};
    static const char *const sections[] = {"reasons", "standing", "signing", "mistakes", "verdicts",
                                           "states",  "words",    "ui",      "report",   NULL};
    static const char *const formats[] = {"threepass-texts-1", NULL};
    const JsonValue *root = json_root(texts->document);
    const JsonValue *story;
    int format;
    if (!json_want_object(root, "texts", keys, err)) return false;
    if (!json_read_word(root, "format", true, formats, &format, err)) return false;
    for (int i = 0; sections[i] != NULL; i++) {
        if (!read_section(texts, sections[i], err)) return false;
    }
    qsort(texts->entries, texts->entry_count, sizeof *texts->entries, by_name);
    if (!json_need(root, "story", &story, err)) return false;
    if (!json_want_array(story, "story", 1, STORY_MAX, err)) return false;
    texts->story = check_calloc(json_count(story), sizeof *texts->story);
    for (size_t i = 0; i < json_count(story); i++, texts->story_count++) {
        if (!read_sentence(json_at(story, i), &texts->story[i], err)) return false;
    }
    return true;
}

/* "assets/texts/pl.json" holds "pl". */
static void name_language(const char *path, char language[LANGUAGE_BYTES])
{
    const char *slash = strrchr(path, '/');
    const char *name = slash == NULL ? path : slash + 1;
    size_t len = strcspn(name, ".");
    if (len >= LANGUAGE_BYTES) len = LANGUAGE_BYTES - 1;
    memcpy(language, name, len);
    language[len] = '\0';
}

bool texts_load(const char *path, Texts **out, Err *err)
{
    Texts *texts = check_calloc(1, sizeof *texts);
    Text bytes = {0};
    bool ok = os_file_read(path, TEXTS_BYTES_MAX, &bytes, err) &&
              json_parse(path, text_string(&bytes), bytes.len, &texts->document, err) &&
              read_texts(texts, err);
    text_clear(&bytes);
    if (!ok) {
        texts_free(texts);
        return false;
    }
    name_language(path, texts->language);
    *out = texts;
    return true;
}

void texts_free(Texts *texts)
{
    if (texts == NULL) return;
    json_free(texts->document);
    free(texts->entries);
    free(texts->story);
    free(texts);
}

const char *texts_get(const Texts *texts, const char *section, const char *key)
{
    const Entry wanted = {section, key, NULL};
    const Entry *entry =
        bsearch(&wanted, texts->entries, texts->entry_count, sizeof *texts->entries, by_name);
    return entry == NULL ? key : entry->text;
}

void texts_add_clock(const Scenario *scenario, int64_t time_us, Text *out)
{
    int64_t seconds = (scenario->clock_us + time_us) / 1000000 % 86400;
    text_addf(out, "%02d:%02d:%02d", (int)(seconds / 3600), (int)(seconds / 60 % 60),
              (int)(seconds % 60));
}

void texts_localise(const Texts *texts, char *number)
{
    char *point = strchr(number, '.');
    if (point != NULL) *point = texts_get(texts, "words", "decimal")[0];
}

void texts_add_mm(const Texts *texts, int64_t um, Text *out)
{
    size_t before = out->len;
    text_addf(out, "%.*f", um % 100 == 0 ? 1 : 2, (double)um / 1e3);
    texts_localise(texts, out->bytes + before);
}

/* A piece as people know it: "ferrous 1.5 mm, FE-15-03". */
static void add_piece(const Texts *texts, const Scenario *scenario, const char *id, Text *out)
{
    int index = site_find_piece(scenario->site, id);
    if (index < 0) {
        text_add(out, id);
        return;
    }
    const SitePiece *piece = &scenario->site->pieces[index];
    text_addf(out, "%s ", texts_get(texts, "words", metals_group_word(piece->metal->group)));
    texts_add_mm(texts, piece->diameter_um, out);
    text_addf(out, " mm, %s", piece->id);
}

/* A scene by its own text, an answer by its own; false when the scenario has none of that name. */
static bool add_scene_text(const Texts *texts, const Scenario *scenario, const LogLine *line,
                           const char *name, const char *word, Text *out)
{
    bool is_choice = strcmp(name, "choice") == 0;
    LogValue scene_id;
    bool is_number;
    if (!is_choice && strcmp(name, "scene") != 0) return false;
    if (!log_field(line, "scene", &scene_id, &is_number)) return false;
    for (int i = 0; i < scenario->scene_count; i++) {
        const Scene *scene = &scenario->scenes[i];
        if (strcmp(scene->id, scene_id.word) != 0) continue;
        if (!is_choice) text_add(out, site_text(scene->text, texts->language));
        for (int a = 0; is_choice && a < scene->answer_count; a++) {
            if (strcmp(scene->answers[a].id, word) != 0) continue;
            text_add(out, site_text(scene->answers[a].text, texts->language));
            return true;
        }
        return !is_choice;
    }
    return false;
}

void texts_add_word(const Texts *texts, const char *word, Text *out)
{
    char part[LOG_WORD_BYTES];
    for (int i = 0;; i++) { /* METAL, SPOT and perhaps LANE */
        size_t len = strcspn(word, "/");
        CHECK(len < sizeof part);
        memcpy(part, word, len);
        part[len] = '\0';
        if (i > 0) text_add(out, ", ");
        if (i == 2) text_addf(out, "%s ", texts_get(texts, "words", "lane"));
        text_add(out, texts_get(texts, "words", part));
        if (word[len] == '\0') return;
        word += len + 1;
    }
}

void texts_add_name(const Texts *texts, const Scenario *scenario, const char *word, Text *out)
{
    int product = site_find_product(scenario->site, word);
    if (product >= 0)
        text_add(out, site_text(scenario->site->products[product].name, texts->language));
    else
        texts_add_word(texts, word, out);
}

void texts_add_about(const Texts *texts, const Scenario *scenario, const ScoreFinding *finding,
                     const LogLine *log, Text *out)
{
    const LogLine *line = finding->evidence_count > 0 ? &log[finding->evidence[0]] : NULL;
    bool is_row = line != NULL && strcmp(finding->reason, "row-missing") == 0 &&
                  log_is(line, HAPPENING_PIECE_SENT);
    if (!is_row) {
        texts_add_name(texts, scenario, finding->about, out);
        return;
    }
    Text row = {0};
    text_addf(&row, "%s/%s", log_word(line, "metal"), log_word(line, "spot"));
    int64_t lane = log_number(line, "lane");
    if (lane != 0) text_addf(&row, "/%lld", (long long)lane);
    texts_add_word(texts, row.bytes, out);
    text_clear(&row);
}

static void add_field(const Texts *texts, const Scenario *scenario, const LogLine *line,
                      const char *name, Text *out)
{
    LogValue value;
    bool is_number;
    CHECK(log_field(line, name, &value, &is_number)); /* looked at when the texts were read */
    if (strcmp(name, "piece") == 0) {
        add_piece(texts, scenario, value.word, out);
    } else if (strcmp(name, "ratio_milli") == 0) {
        size_t before = out->len;
        text_addf(out, "%lld.%02lld", (long long)value.number / 1000,
                  (long long)value.number % 1000 / 10);
        texts_localise(texts, out->bytes + before);
    } else if (is_number) {
        text_addf(out, "%lld", (long long)value.number);
    } else if (!add_scene_text(texts, scenario, line, name, value.word, out)) {
        texts_add_name(texts, scenario, value.word, out);
    }
}

/* "{pack}" in a sentence stands for the line's field. */
static void add_sentence(const Texts *texts, const Scenario *scenario, const LogLine *line,
                         const char *say, Text *out)
{
    for (const char *at = say; *at != '\0';) {
        char name[NAME_BYTES];
        size_t len = field_at(at, name);
        if (len == 0) {
            text_add_bytes(out, at++, 1);
            continue;
        }
        add_field(texts, scenario, line, name, out);
        at += len;
    }
}

/* "  Lane 2, for metal in lane 1." behind the sentence, on a line with several lanes. */
static void add_lanes(const Texts *texts, const LogLine *line, Text *out)
{
    static const char *const fields[] = {"lane", "beside"};
    static const char *const words[] = {"told-lane", "told-beside"};
    LogValue value;
    bool is_number;
    bool is_told = false;
    for (int i = 0; i < 2; i++) {
        if (!log_field(line, fields[i], &value, &is_number) || value.number == 0) continue;
        text_addf(out, "%s%s %lld", is_told ? ", " : " ", texts_get(texts, "words", words[i]),
                  (long long)value.number);
        is_told = true;
    }
    if (is_told) text_add(out, ".");
}

bool texts_tell(const Texts *texts, const Scenario *scenario, const LogLine *line, Text *out)
{
    for (size_t i = 0; i < texts->story_count; i++) {
        if (!log_matches(line, &texts->story[i].on)) continue;
        add_sentence(texts, scenario, line, texts->story[i].say, out);
        add_lanes(texts, line, out);
        return true;
    }
    return false;
}

/* The log lines that show a finding, as sentences where there are any. */
static void tell_evidence(const Texts *texts, const Scenario *scenario, const ScoreFinding *finding,
                          const LogLine *log, Text *out)
{
    for (int i = 0; i < finding->evidence_count; i++) {
        const LogLine *line = &log[finding->evidence[i]];
        text_addf(out, "        log line %zu, ", finding->evidence[i] + 1);
        texts_add_clock(scenario, line->time_us, out);
        text_add(out, ": ");
        if (!texts_tell(texts, scenario, line, out)) log_print(line, out);
        text_add(out, "\n");
    }
}

static void tell_line(const Texts *texts, const char *language, const Scenario *scenario,
                      const ScoreLine *line, const LogLine *log, Text *out)
{
    const ScoreFinding *finding = &line->finding;
    text_addf(out, "    %-10s", texts_get(texts, "states", score_state_word(finding->state)));
    if (line->line->critical != 0) text_addf(out, " [critical K%d]", line->line->critical);
    text_addf(out, " %s", site_text(line->line->text, language));
    text_addf(out, " (%lld of %lld points)\n", (long long)line->points,
              (long long)line->line->points);
    if (finding->state == SCORE_MET) return;
    text_addf(out, "        %s", texts_get(texts, "reasons", finding->reason));
    if (finding->about[0] != '\0') {
        text_add(out, " (");
        texts_add_about(texts, scenario, finding, log, out);
        text_add(out, ")");
    }
    text_add(out, "\n");
    const char *mistake = score_mistake(line);
    if (mistake[0] != '\0')
        text_addf(out, "        %s: %s\n", mistake, texts_get(texts, "mistakes", mistake));
    tell_evidence(texts, scenario, finding, log, out);
    const char *why = site_text(line->line->why, language);
    if (why[0] != '\0') text_addf(out, "        %s\n", why);
}

void texts_tell_score(const Texts *texts, const char *language, const Scenario *scenario,
                      const Score *score, const LogLine *log, Text *out)
{
    text_addf(out, "%s: %s (%lld of %lld points, %lld needed, %d critical missed)\n",
              texts_get(texts, "verdicts", score_verdict(score)),
              texts_get(texts, "reasons", score_reason_word(score->reason)),
              (long long)score->points, (long long)score->points_max,
              (long long)score->points_needed, score->critical_missed);
    for (int i = 0; i < score->line_count; i++) {
        tell_line(texts, language, scenario, &score->lines[i], log, out);
    }
}

void texts_tell_standing(const Texts *texts, const RecReason *reason, Text *out)
{
    const char *text = texts_get(texts, "standing", rec_why_words[reason->why]);
    while (*text != '\0') {
        char name[NAME_BYTES];
        char date[REC_DAY_BYTES];
        size_t len = field_at(text, name);
        if (len > 0 && strcmp(name, "date") == 0) {
            rec_day_print(reason->day, date);
            text_add(out, date);
        } else if (len > 0 && strcmp(name, "number") == 0) {
            text_addf(out, "%lld", (long long)reason->number);
        } else {
            len = 1;
            text_add_bytes(out, text, 1);
        }
        text += len;
    }
}
