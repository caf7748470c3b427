/* threepass records paper: sign-offs from before the program. */
#include "app/papers.h"

#include <stdio.h>

#include "cli/desk.h"

static int tell_errors(const Papers *papers)
{
    Text out = {0};
    for (size_t i = 0; i < papers_error_count(papers); i++) {
        (void)fprintf(stderr, "%s\n", papers_error(papers, i));
    }
    text_addf(&out, "%zu errors. Nothing was written.\n", papers_error_count(papers));
    int code = cli_print(&out, CLI_NO);
    text_clear(&out);
    return code;
}

static int tell(const Papers *papers, Desk *desk, bool write, Err *err)
{
    Text out = {0};
    size_t written = 0;
    size_t count = papers_new_count(papers);
    bool ok = !write || papers_write(papers, desk->records, desk->author, &written, err);
    if (!ok) err_context(err, "%zu of %zu papers were written", written, count);
    text_addf(&out, "%zu new, %zu here already. %s\n", count, papers_same_count(papers),
              count == 0 ? "There is nothing to write."
              : write    ? "Written, as from paper."
                         : "Nothing was written; --write does it.");
    return desk_answer(ok, &out, err);
}

int records_paper(int argc, char **argv)
{
    enum { WRITE = DESK_OPTION_COUNT, END };
    CliOption options[] = {DESK_OPTIONS, [WRITE] = {.name = "--write"}, [END] = {0}};
    CliWords words = {.min = 1, .max = 1};
    Papers *papers = NULL;
    Desk desk = {0};
    Err err = {0};
    bool ok = cli_parse(argc, argv, options, &words, &err) &&
              desk_open(options, DESK_AUTHOR | DESK_AT_SITE, &desk, &err) &&
              papers_read(words.words[0], desk.records, desk.site, &papers, &err);
    int code = !ok                              ? cli_fail(&err)
               : papers_error_count(papers) > 0 ? tell_errors(papers)
                                                : tell(papers, &desk, options[WRITE].given, &err);
    papers_free(papers);
    desk_close(&desk);
    return code;
}
