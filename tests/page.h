/* A page of docs, followed to the letter: each file is saved, each change made and each command
 * run in the page's order, and what is printed must be what the page shows. Nothing of the page is
 * repeated in tests, so that it cannot go stale unseen. */
#ifndef TESTS_PAGE_H
#define TESTS_PAGE_H

#include "program.h"

#include <stdio.h>

#define COMMAND ".command"
#define PRINTED ".printed"

/* What has been read of the page so far. */
typedef struct {
    const char *name; /* of the page */
    const char *folder;
    int line;     /* of the page, for messages */
    Text said;    /* the last line that was no block */
    Text file;    /* that a change is for */
    Text old;     /* what it takes away */
    Text command; /* the last one, in the block that is read */
    Text want;    /* and what the page shows that it prints */
    int files, changes, commands;
} Page;

/* --- Comparing ------------------------------------------------------------------------------- */

/* Every time of a record as one and the same, and no blanks at the ends of lines. */
static inline void level(Text *text)
{
    static const char shape[] = "0000-00-00T00:00:00Z";
    size_t to = 0;
    for (size_t i = 0; i + sizeof shape - 1 <= text->len; i++) {
        char *at = text->bytes + i;
        size_t same = 0;
        while (shape[same] == '0' ? at[same] >= '0' && at[same] <= '9' : at[same] == shape[same]) {
            if (shape[++same] == '\0') break;
        }
        if (same == sizeof shape - 1) memcpy(at, shape, same);
    }
    for (size_t i = 0; i < text->len; i++) {
        if (text->bytes[i] == '\n') {
            while (to > 0 && text->bytes[to - 1] == ' ') {
                to--;
            }
        }
        text->bytes[to++] = text->bytes[i];
    }
    if (text->bytes != NULL) text->bytes[to] = '\0';
    text->len = to;
}

static inline const char *next_line(const char *at)
{
    const char *end = strchr(at, '\n');
    return end == NULL ? at + strlen(at) : end + 1;
}

/* A line "..." of what is wanted stands for any number of lines. */
static inline bool fits(const char *want, const char *got)
{
    for (; *want != '\0'; want = next_line(want), got = next_line(got)) {
        if (strncmp(want, "...\n", 4) == 0) {
            while (!fits(next_line(want), got)) {
                if (*got == '\0') return false;
                got = next_line(got);
            }
            return true;
        }
        size_t len = (size_t)(next_line(want) - want);
        if ((size_t)(next_line(got) - got) != len || strncmp(want, got, len) != 0) return false;
    }
    return *got == '\0';
}

/* --- Blocks ---------------------------------------------------------------------------------- */

/* The name between "BEGIN`" and "`:", if the last line said so. */
static inline bool names_file(const Page *page, const char *begin, Text *out)
{
    const char *said = text_string(&page->said);
    size_t len = strlen(begin);
    if (strncmp(said, begin, len) != 0) return false;
    const char *end = strstr(said + len, "`:");
    if (end == NULL || end[2] != '\0') return false;
    text_add_bytes(out, said + len, (size_t)(end - said) - len);
    return true;
}

/* Put `by` where the old text stands, once in the file. Where that is the inside of a line, the
 * block's own end of line is cut off. */
static inline void change(Page *page, const Text *by)
{
    Text file = {0};
    Text changed = {0};
    read_file(page->folder, page->file.bytes, &file);
    size_t cut = strstr(text_string(&file), page->old.bytes) == NULL;
    page->old.bytes[page->old.len - cut] = '\0';
    char *at = strstr(text_string(&file), page->old.bytes);
    if (at == NULL)
        fail_msg("%s:%d: %s holds no such text", page->name, page->line, page->file.bytes);
    if (strstr(at + 1, page->old.bytes) != NULL) {
        fail_msg("%s:%d: %s holds it twice", page->name, page->line, page->file.bytes);
    }
    text_add_bytes(&changed, file.bytes, (size_t)(at - file.bytes));
    text_add_bytes(&changed, by->bytes, by->len - cut);
    text_add(&changed, at + page->old.len - cut);
    write_file(page->folder, page->file.bytes, changed.bytes);
    page->changes++;
    text_clear(&page->old);
    text_clear(&page->file);
    text_clear(&file);
    text_clear(&changed);
}

/* Run the command that is waiting, as a shell in the folder would, and compare. */
static inline void run_command(Page *page)
{
    if (page->command.len == 0) return;
    Text script = {0};
    Text call = {0};
    Text got = {0};
    const char *slash = strrchr(THREEPASS_PROGRAM, '/');
    text_add(&script, "exec </dev/null >" PRINTED " 2>&1\nPATH='");
    text_add_bytes(&script, THREEPASS_PROGRAM, (size_t)(slash - THREEPASS_PROGRAM));
    text_addf(&script,
              "':$PATH\nXDG_DATA_HOME=$PWD\n"
              "XDG_STATE_HOME=$PWD/state\nexport PATH XDG_DATA_HOME XDG_STATE_HOME\n%s\n",
              page->command.bytes);
    write_file(page->folder, COMMAND, script.bytes);
    text_addf(&call, "cd '%s' && sh " COMMAND, page->folder);
    int status = system(call.bytes);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) <= 2);
    read_file(page->folder, PRINTED, &got);
    level(&got);
    level(&page->want);
    if (!fits(text_string(&page->want), text_string(&got))) {
        print_error("%s: before line %d: $ %s\n--- the page shows\n%s--- it prints\n%s", page->name,
                    page->line, page->command.bytes, text_string(&page->want), text_string(&got));
        fail();
    }
    page->commands++;
    text_clear(&page->command);
    text_clear(&page->want);
    text_clear(&script);
    text_clear(&call);
    text_clear(&got);
}

static inline void run_block(Page *page, const Text *block)
{
    for (const char *at = text_string(block); *at != '\0'; at = next_line(at)) {
        size_t len = (size_t)(next_line(at) - at);
        if (strncmp(at, "$ ", 2) != 0) {
            text_add_bytes(&page->want, at, len);
            continue;
        }
        run_command(page);
        text_add_bytes(&page->command, at + 2, len - 3);
    }
    run_command(page);
}

static inline void follow(Page *page, const char *kind, const Text *block)
{
    Text name = {0};
    if (strcmp(kind, "console") == 0) {
        run_block(page, block);
    } else if (names_file(page, "Save this as `", &name)) {
        write_file(page->folder, name.bytes, text_string(block));
        page->files++;
    } else if (names_file(page, "Replace in `", &page->file)) {
        text_add(&page->old, text_string(block));
    } else if (strcmp(text_string(&page->said), "by:") == 0 && page->old.len > 0) {
        change(page, block);
    } else {
        fail_msg("%s:%d: a block that is no file, change or command", page->name, page->line);
    }
    text_clear(&name);
}

/* Follow the whole page `name` in a folder; the counts say how much of it there was. */
static inline void page_follow(const char *name, const char *folder, Page *counts)
{
    Page page = {.name = name, .folder = folder};
    Text text = {0};
    Text block = {0};
    Text kind = {0};
    bool is_block = false;
    read_file(".", name, &text);
    for (const char *at = text_string(&text); *at != '\0'; at = next_line(at)) {
        size_t len = (size_t)(next_line(at) - at) - 1;
        page.line++;
        if (strncmp(at, "```", 3) == 0) {
            if (is_block) follow(&page, text_string(&kind), &block);
            text_clear(&kind);
            text_clear(&block);
            text_add_bytes(&kind, at + 3, len - 3);
            is_block = !is_block;
        } else if (is_block) {
            text_add_bytes(&block, at, len + 1);
        } else if (len > 0) {
            text_clear(&page.said);
            text_add_bytes(&page.said, at, len);
        }
    }
    assert_false(is_block);
    text_clear(&page.said);
    text_clear(&text);
    text_clear(&block);
    text_clear(&kind);
    *counts = page;
}

#endif
