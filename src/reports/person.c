/* A person's record and certificate. */
#include "reports/report.h"

#include <stdio.h>
#include <string.h>

/* --- Standings ------------------------------------------------------------------------------- */

static RecCell cell_of(const RecStanding *standing)
{
    return (RecCell){.state = standing->state,
                     .from_paper = standing->from_paper,
                     .with_buddy = standing->with_buddy,
                     .provisional = standing->provisional,
                     .since_day = standing->since_day,
                     .next_day = standing->next_day};
}

static void tell_standings(const ReportPerson *person, Page *page, const ReportWords *words)
{
    report_table(page, words, "standings");
    report_column(page, words, "competence");
    report_column(page, words, "state");
    report_column(page, words, "why");
    for (size_t i = 0; i < person->standing_count; i++) {
        const ReportStanding *standing = &person->standings[i];
        RecCell cell = cell_of(standing->standing);
        Text why = {0};
        for (size_t j = 0; j < standing->reason_count; j++) {
            text_addf(&why, "%s%s", j == 0 ? "" : " ", standing->reasons[j]);
        }
        report_plain(page, standing->competence.title);
        report_cell(page, words, &cell);
        report_plain(page, text_string(&why));
        text_clear(&why);
    }
}

/* --- Entries --------------------------------------------------------------------------------- */

static void add_part(Text *out, const char *part)
{
    if (part[0] != '\0') text_addf(out, "%s%s", out->len == 0 ? "" : "; ", part);
}

/* "{label}: {value}", nothing for an empty value. */
static void add_pair(Text *out, const ReportWords *words, const char *key, const char *value)
{
    if (value[0] == '\0') return;
    text_addf(out, "%s%s: %s", out->len == 0 ? "" : "; ", report_say(words, key), value);
}

static void add_answers(Text *out, const ReportEntry *entry, Page *page, const ReportWords *words)
{
    char yes[16];
    char all[16];
    if (entry->answers == 0) return;
    (void)snprintf(yes, sizeof yes, "%d", entry->answers_yes);
    (void)snprintf(all, sizeof all, "%d", entry->answers);
    const ReportFill fills[] = {{"yes", yes}, {"all", all}, {NULL, NULL}};
    add_part(out, report_fill(page, words, "answers", fills));
}

/* What an entry says, on one line. */
static void tell_detail(const ReportEntry *entry, Page *page, const ReportWords *words, Text *out)
{
    bool is_run = strcmp(entry->kind, "run") == 0;
    bool is_observation = strcmp(entry->kind, "observation") == 0;
    if (entry->word[0] != '\0') add_part(out, report_say(words, entry->word));
    if (is_run) add_part(out, report_say(words, entry->is_assessment ? "assessment" : "practice"));
    if (entry->is_scripted) add_part(out, report_say(words, "scripted"));
    if (entry->is_void) add_part(out, report_say(words, "made-void"));
    if (is_observation) add_part(out, report_say(words, entry->is_good ? "good" : "not-good"));
    if (strcmp(entry->kind, "role") == 0) {
        add_part(out, report_say(words, entry->is_good ? "given" : "taken"));
    }
    add_answers(out, entry, page, words);
    add_pair(out, words, "line", entry->line);
    add_pair(out, words, "seen-on", entry->day);
    add_pair(out, words, "good-until", entry->until);
    add_pair(out, words, is_run ? "supervised-by" : "buddy", entry->other);
    add_pair(out, words, "sheet", entry->sheet);
    if (entry->is_text_erased) add_part(out, report_say(words, "text-erased"));
    add_part(out, entry->text);
    if (entry->about[0] != '\0') {
        char about[13];
        (void)snprintf(about, sizeof about, "%.12s", entry->about);
        add_pair(out, words, "about", about);
    }
}

static PageMark mark_of(const ReportEntry *entry)
{
    if (entry->is_void || strcmp(entry->kind, "withdrawal") == 0) return PAGE_WITHDRAWN;
    if (strcmp(entry->kind, "paper") == 0) return PAGE_FROM_PAPER;
    if (strcmp(entry->kind, "observation") == 0) return entry->is_good ? PAGE_SIGNED : PAGE_MISSED;
    if (strcmp(entry->word, "competent") == 0 || strcmp(entry->word, "signed") == 0 ||
        strcmp(entry->word, "with-buddy") == 0) {
        return PAGE_SIGNED;
    }
    return entry->word[0] == '\0' ? PAGE_PLAIN : PAGE_MISSED;
}

static void tell_entries(const ReportEntry *entries, size_t count, const char *key, Page *page,
                         const ReportWords *words)
{
    report_table(page, words, key);
    report_column(page, words, "when");
    report_column(page, words, "what");
    report_column(page, words, "detail");
    report_column(page, words, "by");
    report_column(page, words, "hash");
    for (size_t i = 0; i < count; i++) {
        const ReportEntry *entry = &entries[i];
        Text kind = {0};
        Text detail = {0};
        char hash[13];
        text_addf(&kind, "kind-%s", entry->kind);
        (void)snprintf(hash, sizeof hash, "%.12s", entry->hash);
        tell_detail(entry, page, words, &detail);
        report_plain(page, report_time(page, entry->time_us));
        page_cell(page, mark_of(entry), report_say(words, kind.bytes), entry->subject);
        report_plain(page, text_string(&detail));
        report_plain(page, entry->by);
        report_plain(page, hash);
        text_clear(&kind);
        text_clear(&detail);
    }
}

Page *report_person(const ReportPerson *person, const ReportWords *words)
{
    const ReportFill title[] = {{"person", report_name(words, person->name)}, {NULL, NULL}};
    Page *page = report_page("person", "record-of", title, person->head, words);
    report_field(page, words, "id", person->id);
    report_field(page, words, "roles",
                 person->roles[0] == '\0' ? report_say(words, "none") : person->roles);
    tell_standings(person, page, words);
    tell_entries(person->entries, person->entry_count, "entries", page, words);
    report_paragraph(page, words, "record-complete");
    page_heading(page, report_say(words, "verify"));
    report_paragraph(page, words, "verify-how");
    report_caution(page, words, "caution-training");
    return page;
}

/* --- Certificate ----------------------------------------------------------------------------- */

static void tell_scope(const ReportCertificate *certificate, Page *page, const ReportWords *words)
{
    const RecStanding *standing = certificate->standing.standing;
    const char *all = report_say(words, "all");
    report_field(page, words, "person", report_name(words, certificate->person));
    report_field(page, words, "id", certificate->id);
    report_field(page, words, "competence", certificate->standing.competence.title);
    report_field(page, words, "state", report_say(words, rec_state_words[standing->state]));
    report_field(page, words, "lines", certificate->lines[0] == '\0' ? all : certificate->lines);
    report_field(page, words, "products",
                 certificate->products[0] == '\0' ? all : certificate->products);
    report_field(page, words, "checks", certificate->checks[0] == '\0' ? all : certificate->checks);
    report_field(page, words, "limits",
                 standing->with_buddy ? report_say(words, "with-buddy-only")
                                      : report_say(words, "may-alone"));
    if (standing->with_buddy) {
        report_field(page, words, "buddy", report_name(words, certificate->buddy));
    }
    report_field(page, words, "good-until", report_day(page, standing->good_until_day));
    if (standing->next_day != 0 && standing->next_day != standing->good_until_day) {
        report_field(page, words, "next", report_day(page, standing->next_day));
    }
}

static void tell_signature(const ReportCertificate *certificate, Page *page,
                           const ReportWords *words)
{
    const ReportEntry *signature = certificate->signature;
    bool is_paper = strcmp(signature->kind, "paper") == 0;
    page_heading(page, report_say(words, is_paper ? "from-paper-heading" : "signature"));
    if (is_paper) {
        report_paragraph(page, words, "paper-how");
        report_field(page, words, "signed-on", signature->day);
        report_field(page, words, "signed-by",
                     signature->is_text_erased ? report_say(words, "text-erased")
                                               : signature->text);
        report_field(page, words, "entered-by", signature->by);
    } else {
        report_field(page, words, "decision", report_say(words, signature->word));
        report_field(page, words, "signed-by", signature->by);
        report_field(page, words, "meaning", certificate->meaning);
        report_field(page, words, "key", certificate->key);
    }
    report_field(page, words, "when", report_time(page, signature->time_us));
    report_field(page, words, "entry-hash", signature->hash);
    report_field(page, words, "acknowledged",
                 certificate->acknowledged_us == 0
                     ? report_say(words, "not-yet")
                     : report_time(page, certificate->acknowledged_us));
}

static void tell_evidence(const ReportCertificate *certificate, Page *page,
                          const ReportWords *words)
{
    if (certificate->evidence_count == 0) return;
    report_table(page, words, "evidence");
    report_column(page, words, "when");
    report_column(page, words, "what");
    report_column(page, words, "detail");
    report_column(page, words, "hash");
    for (size_t i = 0; i < certificate->evidence_count; i++) {
        const ReportEntry *entry = &certificate->evidence[i];
        Text kind = {0};
        Text detail = {0};
        text_addf(&kind, "kind-%s", entry->kind);
        tell_detail(entry, page, words, &detail);
        report_plain(page, report_time(page, entry->time_us));
        page_cell(page, mark_of(entry), report_say(words, kind.bytes), entry->subject);
        report_plain(page, text_string(&detail));
        report_plain(page, entry->hash);
        text_clear(&kind);
        text_clear(&detail);
    }
}

Page *report_certificate(const ReportCertificate *certificate, const ReportWords *words)
{
    const ReportStanding *standing = &certificate->standing;
    const ReportFill title[] = {{"person", report_name(words, certificate->person)},
                                {"competence", standing->competence.title},
                                {NULL, NULL}};
    bool stands = report_is_signed(standing->standing) && certificate->signature != NULL;
    Page *page = report_page("certificate", stands ? "certificate" : "no-certificate", title,
                             certificate->head, words);
    page->is_one_page = true;
    if (stands) {
        report_paragraph(page, words, "copy");
        tell_scope(certificate, page, words);
        tell_signature(certificate, page, words);
        tell_evidence(certificate, page, words);
        page_heading(page, report_say(words, "proves-not"));
        report_paragraph(page, words, "proves-not-what");
        report_paragraph(page, words, "verify-how");
    } else {
        report_field(page, words, "person", report_name(words, certificate->person));
        report_field(page, words, "competence", standing->competence.title);
        report_field(page, words, "state",
                     report_say(words, rec_state_words[standing->standing->state]));
    }
    page_heading(page, report_say(words, "why"));
    for (size_t i = 0; i < standing->reason_count; i++) {
        page_paragraph(page, standing->reasons[i]);
    }
    report_caution(page, words, "caution-training");
    report_caution(page, words, "caution-hold");
    return page;
}
