/* The board, and what a supervisor looks at before a shift. */
#include "reports/report.h"

Page *report_board(const ReportBoard *board, const ReportWords *words)
{
    static const ReportFill none[] = {{NULL, NULL}};
    Page *page = report_page("board", "board", none, board->head, words);
    page->is_wide = board->competence_count > 3;
    page_table(page, "board", "");
    report_column(page, words, "person");
    for (size_t i = 0; i < board->competence_count; i++) {
        page_column(page, board->competences[i].id, board->competences[i].title);
    }
    for (size_t i = 0; i < board->person_count; i++) {
        report_plain(page, report_name(words, board->people[i]));
        for (size_t j = 0; j < board->competence_count; j++) {
            size_t at = i * board->competence_count + j;
            if (board->begun[at])
                report_cell(page, words, &board->cells[at]);
            else
                report_plain(page, "");
        }
    }
    report_paragraph(page, words, "board-empty");
    report_caution(page, words, "caution-training");
    return page;
}

/* --- Tonight --------------------------------------------------------------------------------- */

static void tell_here(const ReportTonight *tonight, Page *page, const ReportWords *words)
{
    Text names = {0};
    for (size_t i = 0; i < tonight->here_count; i++) {
        text_addf(&names, "%s%s", i == 0 ? "" : ", ", report_name(words, tonight->here[i]));
    }
    report_field(page, words, "here",
                 names.len == 0 ? report_say(words, "nobody") : text_string(&names));
    if (!tonight->is_here_given) report_paragraph(page, words, "here-by-list");
    text_clear(&names);
}

static void tell_covers(const ReportTonight *tonight, Page *page, const ReportWords *words)
{
    report_table(page, words, "covers");
    report_column(page, words, "line");
    report_column(page, words, "who");
    report_column(page, words, "how");
    for (size_t i = 0; i < tonight->cover_count; i++) {
        const ReportCover *cover = &tonight->covers[i];
        report_plain(page, cover->line);
        if (cover->person == NULL) {
            page_cell(page, PAGE_LAPSED, report_say(words, "nobody"), "");
            report_plain(page, report_say(words, "no-run"));
            continue;
        }
        const ReportFill fills[] = {
            {"date", report_day(page, cover->until_day)},
            {"person", cover->buddy == NULL ? "" : report_name(words, cover->buddy)},
            {NULL, NULL}};
        page_cell(page, PAGE_SIGNED, report_name(words, cover->person), "");
        report_plain(
            page,
            report_fill(page, words, cover->buddy == NULL ? "alone-until" : "buddy-until", fills));
    }
}

static void tell_turns(const ReportTurn *turns, size_t count, const char *key, Page *page,
                       const ReportWords *words)
{
    if (count == 0) {
        report_field(page, words, key, report_say(words, "nothing"));
        return;
    }
    report_table(page, words, key);
    report_column(page, words, "person");
    report_column(page, words, "competence");
    report_column(page, words, "state");
    for (size_t i = 0; i < count; i++) {
        report_plain(page, report_name(words, turns[i].person));
        report_plain(page, turns[i].competence);
        page_cell(page, report_mark(turns[i].state, false),
                  report_say(words, rec_state_words[turns[i].state]),
                  report_day(page, turns[i].day));
    }
}

static const char *age(const ReportTonight *tonight, int64_t time_us, Page *page,
                       const ReportWords *words)
{
    int64_t days = (tonight->head->as_of_us - time_us) / 86400000000;
    Text number = {0};
    text_addf(&number, "%lld", (long long)(days < 0 ? 0 : days));
    const ReportFill fills[] = {
        {"time", report_time(page, time_us)}, {"number", number.bytes}, {NULL, NULL}};
    const char *said = report_fill(page, words, "days-ago", fills);
    text_clear(&number);
    return said;
}

static void tell_stations(const ReportTonight *tonight, Page *page, const ReportWords *words)
{
    if (tonight->station_count == 0) return;
    report_table(page, words, "stations");
    report_column(page, words, "station");
    report_column(page, words, "entries");
    report_column(page, words, "merged");
    for (size_t i = 0; i < tonight->station_count; i++) {
        const ReportStation *station = &tonight->stations[i];
        Text number = {0};
        text_addf(&number, "%lld", (long long)station->entries);
        report_plain(page, station->station);
        report_plain(page, number.bytes);
        report_plain(page, station->merged_us == 0 ? report_say(words, "never")
                                                   : age(tonight, station->merged_us, page, words));
        text_clear(&number);
    }
}

Page *report_tonight(const ReportTonight *tonight, const ReportWords *words)
{
    static const ReportFill none[] = {{NULL, NULL}};
    Page *page = report_page("tonight", "tonight", none, tonight->head, words);
    tell_here(tonight, page, words);
    tell_covers(tonight, page, words);
    tell_turns(tonight->ends, tonight->end_count, "ends", page, words);
    tell_turns(tonight->waits, tonight->wait_count, "waits", page, words);
    report_field(page, words, "backup",
                 tonight->backup_us == 0 ? report_say(words, "backup-unknown")
                                         : age(tonight, tonight->backup_us, page, words));
    tell_stations(tonight, page, words);
    report_paragraph(page, words, "no-person-no-run");
    report_caution(page, words, "caution-training");
    return page;
}
