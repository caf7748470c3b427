/* Headings and rows of an import. */
#include "app/import_table.h"

#include <stdlib.h>
#include <string.h>

#include "base/os.h"
#include "scenario/suggest.h"

/* --- Complaints ------------------------------------------------------------------------------ */

void import_complain(Import *self, size_t row, size_t column, const char *text)
{
    Text line = {0};
    text_addf(&line, "%s:%zu:%zu: error: %s", self->file.bytes, row + 1, column + 1, text);
    self->complaints =
        check_realloc(self->complaints, self->complaint_count + 1, sizeof *self->complaints);
    self->complaints[self->complaint_count] =
        (ImportComplaint){row, column, self->complaint_count, line.bytes};
    self->complaint_count++;
}

bool *import_bad_cell(const Import *self, size_t row, size_t column)
{
    return &self->bad[row * SHEET_COLUMNS_MAX + column];
}

/* --- Headings -------------------------------------------------------------------------------- */

/* "name", "name_*" ... without those that stand for a metal or language. */
static const char *near_column(SiteList list, const char *name)
{
    const char *names[IMPORT_COLUMNS_MAX + 1] = {NULL};
    size_t count = 0;
    for (const ImportColumn *column = import_columns(list); column->name != NULL; column++) {
        if (strchr(column->name, '*') == NULL) names[count++] = column->name;
    }
    return suggest_word(name, names);
}

/* A heading that is neither ours nor mapped: the nearest of ours, else all, and what maps do. */
static void complain_unknown(Import *self, size_t column, const char *ours, const char *theirs)
{
    const ImportColumn *columns = import_columns(self->list);
    const char *near = near_column(self->list, ours);
    Text text = {0};
    text_addf(&text, "unknown heading \"%s\"; ", ours);
    if (near != NULL) text_addf(&text, "did you mean \"%s\"? ", near);
    for (int i = 0; near == NULL && columns[i].name != NULL; i++) {
        text_addf(&text, "%s%s%s", i == 0 ? "ours are " : "", columns[i].name,
                  columns[i + 1].name != NULL ? ", " : "; ");
    }
    text_addf(&text, "--map '%s=%s' takes it as ours, --map '=%s' leaves it out",
              near == NULL ? "OUR" : near, theirs, theirs);
    import_complain(self, 0, column, text.bytes);
    text_clear(&text);
}

/* Append what our name is for a heading: itself, or what a map says. Nothing: it is left out, and
 * then *is_left_out unless it was nothing before. */
static void map_heading(const ImportJob *job, const char *theirs, bool used[], Text *ours,
                        bool *is_left_out)
{
    for (size_t i = 0; i < job->map_count; i++) {
        const char *equals = strchr(job->maps[i], '=');
        if (strcmp(equals + 1, theirs) != 0) continue;
        used[i] = true;
        text_add_bytes(ours, job->maps[i], (size_t)(equals - job->maps[i]));
        *is_left_out = ours->len == 0;
        return;
    }
    text_add(ours, theirs);
}

static bool has_language(const Site *site, const char *tag)
{
    for (int i = 0; i < site->language_count; i++) {
        if (strcmp(site->languages[i], tag) == 0) return true;
    }
    return false;
}

/* The '*' of a heading stands for something that there is. */
static void check_word(Import *self, size_t column, ImportHeading *heading)
{
    Text text = {0};
    CellKind kind = heading->column->kind;
    if (kind == CELL_LANGUAGE && heading->word[0] == '\0') {
        const char *first = self->site->languages[0];
        memcpy(heading->word, first, strlen(first) + 1);
    } else if (kind == CELL_LANGUAGE && !has_language(self->site, heading->word)) {
        text_addf(&text, "\"%s\": %s is none of the site's languages", text_string(&heading->name),
                  heading->word);
    } else if (kind == CELL_VALIDATED && metals_find(self->metals, heading->word) == NULL) {
        text_addf(&text, "\"%s\": there is no metal \"%s\"", text_string(&heading->name),
                  heading->word);
    }
    for (size_t i = 0; text.len == 0 && i < column; i++) {
        const ImportHeading *other = &self->headings[i];
        bool same = other->column != NULL && other->column->kind == kind &&
                    other->column->outer == heading->column->outer &&
                    other->column->key == heading->column->key &&
                    strcmp(other->word, heading->word) == 0;
        if (same)
            text_addf(&text, "\"%s\" is there twice, first in column %zu",
                      text_string(&heading->name), i + 1);
    }
    if (text.len > 0) import_complain(self, 0, column, text.bytes);
    text_clear(&text);
}

static void read_heading(Import *self, const ImportJob *job, size_t column, bool used[])
{
    ImportHeading *heading = &self->headings[column];
    Text theirs = {0};
    import_trim(sheet_cell(self->sheet, 0, column), &theirs);
    map_heading(job, text_string(&theirs), used, &heading->name, &heading->is_left_out);
    const char *ours = text_string(&heading->name);
    heading->column = import_find_column(self->list, ours, heading->word);
    if (heading->column != NULL) {
        check_word(self, column, heading);
    } else if (ours[0] != '\0') {
        complain_unknown(self, column, ours, text_string(&theirs));
    }
    text_clear(&theirs);
}

static bool read_headings(Import *self, const ImportJob *job, Err *err)
{
    bool used[IMPORT_MAPS_MAX] = {false};
    self->heading_count = sheet_columns(self->sheet, 0);
    for (size_t i = 0; i < self->heading_count; i++) {
        read_heading(self, job, i, used);
    }
    for (size_t i = 0; i < job->map_count; i++) {
        if (used[i]) continue;
        return err_at(err, (ErrPlace){self->file.bytes, 1, 1},
                      "--map \"%s\": there is no heading \"%s\"", job->maps[i],
                      strchr(job->maps[i], '=') + 1);
    }
    return true;
}

bool import_check_maps(const ImportJob *job, Err *err)
{
    for (size_t i = 0; i < job->map_count; i++) {
        char word[SITE_ID_BYTES];
        Text ours = {0};
        const char *equals = strchr(job->maps[i], '=');
        bool ok = equals != NULL && equals[1] != '\0';
        if (ok) text_add_bytes(&ours, job->maps[i], (size_t)(equals - job->maps[i]));
        if (!ok) {
            (void)err_set(err, ERR_INPUT,
                          "threepass import: --map is \"%s\", must be 'OUR=THEIR HEADING'",
                          job->maps[i]);
        } else if (ours.len > 0 && import_find_column(job->list, ours.bytes, word) == NULL) {
            const char *near = near_column(job->list, ours.bytes);
            ok = err_set(err, ERR_INPUT, "threepass import: --map: %s have no \"%s\"%s%s%s",
                         site_list_words[job->list], ours.bytes,
                         near == NULL ? "" : "; did you mean \"", near == NULL ? "" : near,
                         near == NULL ? "" : "\"?");
        }
        text_clear(&ours);
        if (!ok) return false;
    }
    return true;
}

/* The table's column of one of ours; heading_count for none. */
size_t import_find_heading(const Import *self, const ImportColumn *column)
{
    size_t i = 0;
    while (i < self->heading_count && self->headings[i].column != column) {
        i++;
    }
    return i;
}

/* --- Rows ------------------------------------------------------------------------------------ */

/* A cell without the blanks around it; empty for one that is left out. */
Text import_cell(const Import *self, size_t row, size_t column)
{
    Text text = {0};
    bool is_there = column < sheet_columns(self->sheet, row);
    if (is_there && self->headings[column].column != NULL && !*import_bad_cell(self, row, column)) {
        import_trim(sheet_cell(self->sheet, row, column), &text);
    }
    return text;
}

static bool is_blank(const Import *self, size_t row)
{
    for (size_t i = 0; i < sheet_columns(self->sheet, row); i++) {
        Text text = {0};
        import_trim(sheet_cell(self->sheet, row, i), &text);
        bool blank = text.len == 0;
        text_clear(&text);
        if (!blank) return false;
    }
    return true;
}

/* Where the site's list has this id or name. */
static size_t find_in_site(const Import *self, const char *key)
{
    const char *name = import_columns(self->list)->key;
    const JsonValue *list = json_get(edit_root(&self->old), site_list_words[self->list]);
    for (size_t i = 0; list != NULL && i < json_count(list); i++) {
        if (strcmp(json_string(json_get(json_at(list, i), name)), key) == 0) return i;
    }
    return IMPORT_NONE;
}

/* A further row of a line may only add a program: what else it says, the first row says too. */
static void check_further(Import *self, size_t first, size_t row)
{
    for (size_t i = 0; i < self->heading_count; i++) {
        const ImportColumn *column = self->headings[i].column;
        if (column == NULL || column->kind == CELL_PRODUCT || column->kind == CELL_VALIDATED)
            continue;
        Text here = import_cell(self, row, i);
        Text there = import_cell(self, first, i);
        if (here.len > 0 && strcmp(here.bytes, text_string(&there)) != 0) {
            Text text = {0};
            text_addf(&text, "%s is \"%s\", but \"%s\" in row %zu of the same line",
                      self->headings[i].name.bytes, here.bytes, text_string(&there), first + 1);
            import_complain(self, row, i, text.bytes);
            text_clear(&text);
        }
        *import_bad_cell(self, row, i) = true; /* said once is enough */
        text_clear(&here);
        text_clear(&there);
    }
}

static void add_row(Import *self, size_t key_column, size_t row)
{
    Text key = import_cell(self, row, key_column);
    const char *name = self->headings[key_column].name.bytes;
    Text text = {0};
    size_t i = 0;
    while (key.len > 0 && i < self->entry_count &&
           strcmp(self->entries[i].key.bytes, key.bytes) != 0) {
        i++;
    }
    if (key.len == 0) {
        text_addf(&text, "%s is missing", name);
    } else if (i < self->entry_count && self->list != SITE_LINES) {
        text_addf(&text, "%s \"%s\" is there twice, first in row %zu", name, key.bytes,
                  self->entries[i].row + 1);
    } else {
        self->entry_of[row] = i;
        if (i < self->entry_count) {
            check_further(self, self->entries[i].row, row);
        } else {
            self->entries[self->entry_count++] =
                (ImportEntry){.row = row, .key = key, .at = find_in_site(self, key.bytes)};
            key = (Text){0}; /* handed over */
        }
    }
    if (text.len > 0) import_complain(self, row, key_column, text.bytes);
    text_clear(&text);
    text_clear(&key);
}

/* Nothing stands in a column whose heading is empty. */
static void want_headings(Import *self, size_t row)
{
    for (size_t i = 0; i < self->heading_count; i++) {
        const ImportHeading *heading = &self->headings[i];
        if (heading->column != NULL || heading->is_left_out) continue;
        Text text = {0};
        import_trim(sheet_cell(self->sheet, row, i), &text);
        if (text.len > 0) import_complain(self, row, i, "the column has no heading");
        text_clear(&text);
    }
}

void import_add_rows(Import *self)
{
    size_t rows = sheet_rows(self->sheet);
    size_t key_column = import_find_heading(self, import_columns(self->list));
    Text text = {0};
    self->entries = check_calloc(rows, sizeof *self->entries);
    self->entry_of = check_calloc(rows, sizeof *self->entry_of);
    self->bad = check_calloc(rows * SHEET_COLUMNS_MAX, sizeof *self->bad);
    if (key_column == self->heading_count) {
        text_addf(&text, "there is no column \"%s\", which tells %s apart",
                  import_columns(self->list)->name, site_list_words[self->list]);
        import_complain(self, 0, 0, text.bytes);
    }
    for (size_t row = 1; self->complaint_count == 0 && row < rows; row++) {
        self->entry_of[row] = IMPORT_NONE;
    }
    bool go_on = self->complaint_count == 0;
    for (size_t row = 1; go_on && row < rows; row++) {
        size_t cells = sheet_columns(self->sheet, row);
        if (is_blank(self, row)) continue;
        if (cells == self->heading_count) {
            want_headings(self, row);
            add_row(self, key_column, row);
            continue;
        }
        text_clear(&text);
        text_addf(&text, "the row has %zu cells, and there are %zu headings", cells,
                  self->heading_count);
        import_complain(self, row, cells < self->heading_count ? cells - 1 : self->heading_count,
                        text.bytes);
    }
    text_clear(&text);
}

bool import_read_table(Import *self, const ImportJob *job, Err *err)
{
    Text bytes = {0};
    text_add(&self->file, job->file);
    bool ok = os_file_read(job->file, SHEET_BYTES_MAX, &bytes, err) &&
              sheet_parse(job->file, text_string(&bytes), bytes.len, &self->sheet, err);
    text_clear(&bytes);
    return ok && read_headings(self, job, err);
}
