/* What an import would do, and doing it.
 *
 * Each entry is built as JSON from what the site has (or from nothing) and its cells, and read by
 * the site's reader. The cell that this blames is told of and left out, and the entry is built
 * again, until nothing is blamed. So no limit stands here, and yet one call tells all. */
#include "app/import_table.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/work.h"
#include "base/os.h"

enum { SHOWN_BYTES_MAX = 64 }; /* of a cell, in a message */

/* --- Entries --------------------------------------------------------------------------------- */

/* The element of an array whose `key` is `word`; NULL for none. */
static const JsonValue *find_element(const JsonValue *array, const char *key, const char *word)
{
    for (size_t i = 0; array != NULL && i < json_count(array); i++) {
        const JsonValue *value = json_get(json_at(array, i), key);
        if (value != NULL && strcmp(json_string(value), word) == 0) return json_at(array, i);
    }
    return NULL;
}

/* The program that a row is about; NULL when it names no product, or the entry has no program for
 * it. */
static const JsonValue *find_program(const Import *self, const JsonValue *entry, size_t row)
{
    const JsonValue *found = NULL;
    for (size_t i = 0; i < self->heading_count; i++) {
        const ImportColumn *column = self->headings[i].column;
        if (column == NULL || column->kind != CELL_PRODUCT) continue;
        Text product = import_cell(self, row, i);
        if (product.len > 0) {
            found = find_element(json_get(entry, "programs"), "product", product.bytes);
        }
        text_clear(&product);
    }
    return found;
}

/* True when the row's product was told of and left out. */
static bool product_is_bad(const Import *self, size_t row)
{
    for (size_t i = 0; i < self->heading_count; i++) {
        const ImportColumn *column = self->headings[i].column;
        if (column != NULL && column->kind == CELL_PRODUCT) return *import_bad_cell(self, row, i);
    }
    return false;
}

/* What a cell stands for in an entry's JSON; NULL when that is not there. */
static const JsonValue *find_target(const Import *self, const JsonValue *entry, size_t row,
                                    size_t at)
{
    const ImportHeading *heading = &self->headings[at];
    const ImportColumn *column = heading->column;
    if (column == NULL || column->kind == CELL_LIKE) return NULL;
    if (column->kind == CELL_PRODUCT) return find_program(self, entry, row);
    if (column->kind == CELL_VALIDATED) {
        const JsonValue *program = find_program(self, entry, row);
        const JsonValue *list = program == NULL ? NULL : json_get(program, "validated");
        const JsonValue *sphere = find_element(list, "metal", heading->word);
        return sphere == NULL ? NULL : json_get(sphere, "diameter_mm");
    }
    const JsonValue *object = column->outer == NULL ? entry : json_get(entry, column->outer);
    const char *key = column->kind == CELL_LANGUAGE ? heading->word : column->key;
    return object == NULL ? NULL : json_get(object, key);
}

/* True when both hold the same string, number, or list of them. */
static bool is_same(const JsonValue *a, const JsonValue *b)
{
    if (json_kind(a) != json_kind(b) || json_count(a) != json_count(b)) return false;
    if (json_kind(a) == JSON_STRING) return strcmp(json_string(a), json_string(b)) == 0;
    if (json_kind(a) == JSON_NUMBER) return json_number(a) == json_number(b);
    for (size_t i = 0; i < json_count(a); i++) {
        if (!is_same(json_at(a, i), json_at(b, i))) return false;
    }
    return true;
}

/* True when `value` is what `json` says. */
static bool says(const JsonValue *value, const char *json)
{
    JsonDoc *doc = NULL;
    Err err = {0};
    bool ok = json_parse("cell", json, strlen(json), &doc, &err);
    CHECK(ok);
    ok = is_same(value, json_root(doc));
    json_free(doc);
    return ok;
}

static bool add_element(Edit *edit, const JsonValue *array, const char *json, Err *err)
{
    if (json_count(array) > 0) {
        const char *const added[] = {json};
        return edit_list(edit, array, NULL, added, 1, err);
    }
    Text list = {0};
    text_addf(&list, "[ %s ]", json);
    bool ok = edit_replace(edit, array, list.bytes, err);
    text_clear(&list);
    return ok;
}

/* The row's program, for which there is none yet. */
static bool add_program(Edit *edit, const char *product, Err *err)
{
    Text json = {0};
    text_add(&json, "{ \"product\": ");
    text_add_quoted(&json, product);
    text_add(&json, ", \"validated\": [] }");
    bool ok = add_element(edit, json_get(edit_root(edit), "programs"), json.bytes, err);
    text_clear(&json);
    return ok;
}

/* Put `json` where the cell says, and it is not there already. */
static bool put_value(const Import *self, Edit *edit, size_t row, size_t at, const char *json,
                      Err *err)
{
    const ImportHeading *heading = &self->headings[at];
    const ImportColumn *column = heading->column;
    const JsonValue *there = find_target(self, edit_root(edit), row, at);
    if (there != NULL) return edit_replace(edit, there, json, err);
    if (column->kind == CELL_VALIDATED) {
        Text sphere = {0};
        text_addf(&sphere, "{ \"metal\": \"%s\", \"diameter_mm\": %s }", heading->word, json);
        const JsonValue *program = find_program(self, edit_root(edit), row);
        bool ok = add_element(edit, json_get(program, "validated"), sphere.bytes, err);
        text_clear(&sphere);
        return ok;
    }
    const char *key = column->kind == CELL_LANGUAGE ? heading->word : column->key;
    if (column->outer == NULL) return edit_set(edit, edit_root(edit), key, json, err);
    bool ok = json_get(edit_root(edit), column->outer) != NULL ||
              edit_set(edit, edit_root(edit), column->outer, "{}", err);
    return ok && edit_set(edit, json_get(edit_root(edit), column->outer), key, json, err);
}

/* What changes with a cell, for people. */
static void tell_change(const Import *self, const Edit *edit, const JsonValue *there, size_t at,
                        const char *json, Text *told)
{
    const ImportHeading *heading = &self->headings[at];
    if (heading->column == import_columns(self->list)) return; /* it stands in front */
    text_addf(told, "%s %s ", told->len == 0 ? "" : ",", text_string(&heading->name));
    if (there != NULL) {
        size_t from;
        size_t len;
        edit_span(edit, there, &from, &len);
        text_add_bytes(told, edit->text.bytes + from, len);
        text_add(told, " -> ");
    }
    text_add(told, json);
}

/* The site's element that a new line takes from, as its rows say; else, and when a new entry is
 * mended, the site's first. */
static const JsonValue *find_donor(const Import *self, const ImportEntry *entry)
{
    const JsonValue *list = json_get(edit_root(&self->old), site_list_words[self->list]);
    const JsonValue *found = NULL;
    for (size_t i = 0; i < self->heading_count; i++) {
        const ImportColumn *column = self->headings[i].column;
        if (column == NULL || column->kind != CELL_LIKE) continue;
        Text like = import_cell(self, entry->row, i);
        found = find_element(list, "id", text_string(&like));
        text_clear(&like);
    }
    return found != NULL || list == NULL ? found : json_at(list, 0);
}

/* In the place of a cell that is left out a new entry gets what the site's first has, so that the
 * rest of it can be judged. */
static bool mend_cell(const Import *self, const ImportEntry *entry, Edit *edit, size_t at, Err *err)
{
    const ImportColumn *column = self->headings[at].column;
    const char *key = column->outer == NULL ? column->key : column->outer;
    const JsonValue *donor = find_donor(self, entry);
    if (donor == NULL) return edit_set(edit, edit_root(edit), key, "\"-\"", err); /* a name */
    const JsonValue *value = json_get(donor, key);
    if (value == NULL || json_get(edit_root(edit), key) != NULL) return true;
    size_t from;
    size_t len;
    Text json = {0};
    edit_span(&self->old, value, &from, &len);
    text_add_bytes(&json, self->old.text.bytes + from, len);
    bool ok = edit_set(edit, edit_root(edit), key, json.bytes, err);
    text_clear(&json);
    return ok;
}

/* Put one cell into its entry. A cell that cannot be understood is told of and left out. */
static bool put_cell(Import *self, ImportEntry *entry, Edit *edit, size_t row, size_t at, Err *err)
{
    const ImportColumn *column = self->headings[at].column;
    const char *name = text_string(&self->headings[at].name);
    Text cell = import_cell(self, row, at);
    Text json = {0};
    Text text = {0};
    const char *why = "";
    bool ok = true;
    if (cell.len == 0 || column->kind == CELL_LIKE) goto done;
    if (!import_json(column->kind, cell.bytes, sheet_separator(self->sheet), &json, &why)) {
        int shown = cell.len < SHOWN_BYTES_MAX ? (int)cell.len : SHOWN_BYTES_MAX;
        while (((unsigned char)cell.bytes[shown] & 0xc0) == 0x80) { /* not inside a letter */
            shown--;
        }
        text_addf(&text, "%s is \"%.*s\", %s", name, shown, cell.bytes, why);
    } else if (column->kind == CELL_PRODUCT) {
        if (find_program(self, edit_root(edit), row) != NULL) goto done;
        ok = add_program(edit, cell.bytes, err);
        text_addf(&entry->told, "%s product %s", entry->told.len == 0 ? "" : ",", cell.bytes);
    } else if (column->kind == CELL_VALIDATED && find_program(self, edit_root(edit), row) == NULL) {
        if (product_is_bad(self, row)) goto done;
        text_addf(&text, "%s is given without a product", name);
    } else {
        const JsonValue *there = find_target(self, edit_root(edit), row, at);
        if (there != NULL && says(there, json.bytes)) goto done;
        tell_change(self, edit, there, at, json.bytes, &entry->told);
        ok = put_value(self, edit, row, at, json.bytes, err);
    }
    if (text.len > 0) {
        import_complain(self, row, at, text.bytes);
        *import_bad_cell(self, row, at) = true;
        entry->mended = true;
    }
done:
    text_clear(&text);
    text_clear(&json);
    text_clear(&cell);
    return ok;
}

/* A row's product comes first: its spheres go into that program. */
static bool put_row(Import *self, ImportEntry *entry, Edit *edit, size_t row, Err *err)
{
    for (int pass = 0; pass < 2; pass++) {
        for (size_t i = 0; i < self->heading_count; i++) {
            const ImportColumn *column = self->headings[i].column;
            if (column == NULL || (column->kind == CELL_PRODUCT) != (pass == 0)) continue;
            bool is_new = entry->at == IMPORT_NONE && self->list != SITE_LINES;
            bool ok = is_new && *import_bad_cell(self, row, i)
                          ? mend_cell(self, entry, edit, i, err)
                          : put_cell(self, entry, edit, row, i, err);
            if (!ok) return false;
        }
    }
    return true;
}

static bool names_product(const Import *self, size_t entry)
{
    for (size_t row = 1; row < sheet_rows(self->sheet); row++) {
        if (self->entry_of[row] != entry) continue;
        for (size_t i = 0; i < self->heading_count; i++) {
            const ImportColumn *column = self->headings[i].column;
            if (column == NULL || column->kind != CELL_PRODUCT) continue;
            Text cell = import_cell(self, row, i);
            bool is_there = cell.len > 0;
            text_clear(&cell);
            if (is_there) return true;
        }
    }
    return false;
}

/* What a new line does not take from the other: its name, and programs when it has its own. */
static bool strip_line(const Import *self, const ImportEntry *entry, Edit *edit, Err *err)
{
    const JsonValue *name = json_get(edit_root(edit), "name");
    if (!entry->mended && !edit_replace(edit, name, "{}", err)) return false;
    if (!names_product(self, (size_t)(entry - self->entries))) return true;
    return edit_replace(edit, json_get(edit_root(edit), "programs"), "[]", err);
}

/* What the entry is before its cells are put in. */
static bool begin_entry(const Import *self, const ImportEntry *entry, Edit *edit, Err *err)
{
    const JsonValue *list = json_get(edit_root(&self->old), site_list_words[self->list]);
    const JsonValue *from = NULL;
    if (entry->at != IMPORT_NONE)
        from = json_at(list, entry->at);
    else if (entry->lacks_column || self->list == SITE_LINES)
        from = find_donor(self, entry);
    if (from == NULL) return edit_begin("entry", "{}", strlen("{}"), edit, err);
    size_t at;
    size_t len;
    edit_span(&self->old, from, &at, &len);
    if (!edit_begin("entry", self->old.text.bytes + at, len, edit, err)) return false;
    return entry->at != IMPORT_NONE || self->list != SITE_LINES ||
           strip_line(self, entry, edit, err);
}

/* A cell is wrong, or missing where the table has the column; it is left out from now on. What has
 * no column is told of once. */
static void leave_out(Import *self, ImportEntry *entry, size_t row, size_t at, const char *text)
{
    bool has_column = at < self->heading_count;
    if (has_column || !self->lacks_column) import_complain(self, row, has_column ? at : 0, text);
    if (has_column)
        *import_bad_cell(self, row, at) = true;
    else
        entry->lacks_column = true;
    entry->mended = true;
}

/* A new entry has a cell in each column that it needs, and a line one to be like. */
static void want_needed(Import *self, ImportEntry *entry)
{
    for (const ImportColumn *column = import_columns(self->list); column->name != NULL; column++) {
        Text text = {0};
        size_t at = import_find_heading(self, column);
        Text cell = {0};
        if (at < self->heading_count) cell = import_cell(self, entry->row, at);
        if (cell.len == 0 && (column->needed || column->kind == CELL_LIKE)) {
            text_addf(&text, "%s is missing, and \"%s\" is new", column->name, entry->key.bytes);
        } else if (column->kind == CELL_LIKE &&
                   find_element(json_get(edit_root(&self->old), "lines"), "id", cell.bytes) ==
                       NULL) {
            text_addf(&text, "there is no line \"%s\" in this site", cell.bytes);
        }
        if (text.len > 0) leave_out(self, entry, entry->row, at, text.bytes);
        text_clear(&cell);
        text_clear(&text);
    }
    if (entry->lacks_column) self->lacks_column = true;
}

/* The smallest thing that a cell stands for around the offset `at`; false for none. */
static bool find_blamed(const Import *self, const ImportEntry *entry, const Edit *edit, size_t at,
                        size_t *row, size_t *column)
{
    size_t smallest = SIZE_MAX;
    for (size_t r = entry->row; r < sheet_rows(self->sheet); r++) {
        if (self->entry_of[r] != (size_t)(entry - self->entries)) continue;
        for (size_t i = 0; i < self->heading_count; i++) {
            Text cell = import_cell(self, r, i);
            const JsonValue *target =
                cell.len == 0 ? NULL : find_target(self, edit_root(edit), r, i);
            size_t from = 0;
            size_t len = 0;
            if (target != NULL) edit_span(edit, target, &from, &len);
            text_clear(&cell);
            if (at < from || at >= from + len || len >= smallest) continue;
            smallest = len;
            *row = r;
            *column = i;
        }
    }
    return smallest < SIZE_MAX;
}

/* The column whose value the reader misses; heading_count when the table has none. */
static size_t find_missing(const Import *self, const char *text)
{
    size_t len = strcspn(text, " ");
    size_t i = 0;
    for (; i < self->heading_count; i++) {
        const ImportColumn *column = self->headings[i].column;
        if (column == NULL || column->key == NULL || strcmp(text + len, " is missing") != 0)
            continue;
        if (strlen(column->key) == len && strncmp(column->key, text, len) == 0) break;
    }
    return i;
}

/* Leave out the cell for which the reader blames an entry. False when there is nothing more to
 * leave out. */
static bool blame(Import *self, ImportEntry *entry, const Edit *edit, const Err *why)
{
    static const char start[] = "entry:";
    size_t row = entry->row;
    size_t column = 0;
    CHECK(strncmp(why->text, start, strlen(start)) == 0);
    char *end = NULL;
    long line = strtol(why->text + strlen(start), &end, 10);
    long place = strtol(end + 1, &end, 10);
    const char *text = end + strlen(": error: ");
    size_t at = 0;
    for (; line > 1; line--) {
        at += strcspn(edit->text.bytes + at, "\n") + 1;
    }
    at += (size_t)place - 1;
    if (!find_blamed(self, entry, edit, at, &row, &column)) column = find_missing(self, text);
    bool was_left_out =
        column < self->heading_count ? *import_bad_cell(self, row, column) : entry->lacks_column;
    if (was_left_out) return false;
    if (entry->mended && strstr(text, " belongs to ") != NULL) { /* what was left out, perhaps */
        if (column < self->heading_count) *import_bad_cell(self, row, column) = true;
        return column < self->heading_count;
    }
    leave_out(self, entry, row, column, text);
    return true;
}

/* Put an entry together, and leave out what is wrong of it, until nothing is. */
static bool build_entry(Import *self, ImportEntry *entry, Err *err)
{
    size_t index = (size_t)(entry - self->entries);
    if (entry->at == IMPORT_NONE) want_needed(self, entry);
    for (bool again = true; again;) {
        Edit edit = {0};
        Err why = {0};
        size_t before = self->complaint_count;
        text_clear(&entry->told);
        bool ok = begin_entry(self, entry, &edit, err);
        for (size_t row = entry->row; ok && row < sheet_rows(self->sheet); row++) {
            if (self->entry_of[row] == index) ok = put_row(self, entry, &edit, row, err);
        }
        again = self->complaint_count > before; /* a cell was left out: what is there instead? */
        if (ok && !again) {
            again = !site_check_element(self->site, self->metals, self->kinds, self->list,
                                        edit_root(&edit), &why) &&
                    blame(self, entry, &edit, &why);
        }
        text_clear(&entry->json);
        if (ok) text_add(&entry->json, text_string(&edit.text));
        edit_clear(&edit);
        if (!ok) return false;
    }
    return true;
}

/* --- The site as it would be ----------------------------------------------------------------- */

static bool changes(const ImportEntry *entry)
{
    return !entry->is_left_out && (entry->at == IMPORT_NONE || entry->told.len > 0);
}

/* The list of a site that has none yet. */
static bool add_list(Edit *edit, const char *name, const char *const added[], size_t count,
                     Err *err)
{
    Text list = {0};
    for (size_t i = 0; i < count; i++) {
        text_addf(&list, "%s\n    %s", i == 0 ? "[" : ",", added[i]);
    }
    text_add(&list, "\n  ]");
    bool ok = count == 0 || edit_set(edit, edit_root(edit), name, list.bytes, err);
    text_clear(&list);
    return ok;
}

/* The site with the first `count` entries in it. */
static bool build_site(const Import *self, size_t count, Text *out, Err *err)
{
    const char *name = site_list_words[self->list];
    const Text *old = &self->old.text;
    Edit edit = {0};
    if (!edit_begin(text_string(&self->path), old->bytes, old->len, &edit, err)) return false;
    const JsonValue *list = json_get(edit_root(&edit), name);
    size_t there = list == NULL ? 0 : json_count(list);
    const char **replaced = check_calloc(there + 1, sizeof *replaced);
    const char **added = check_calloc(count + 1, sizeof *added);
    size_t added_count = 0;
    for (size_t i = 0; i < count; i++) {
        const ImportEntry *entry = &self->entries[i];
        if (!changes(entry)) continue;
        if (entry->at == IMPORT_NONE)
            added[added_count++] = text_string(&entry->json);
        else
            replaced[entry->at] = text_string(&entry->json);
    }
    bool ok = list == NULL ? add_list(&edit, name, added, added_count, err)
                           : edit_list(&edit, list, replaced, added, added_count, err);
    if (ok) text_add(out, text_string(&edit.text));
    free(replaced);
    free(added);
    edit_clear(&edit);
    return ok;
}

/* True when a site reads, and can be fitted, as it must before anything is done with it. */
static bool check_site(const Import *self, const char *file, const Text *text, Err *err)
{
    Site *site = NULL;
    SiteFitted *fitted = NULL;
    bool ok =
        site_parse(file, text_string(text), text->len, self->metals, self->kinds, &site, err) &&
        site_fit(site, WORK_FIT_MARGIN, NULL, NULL, &fitted, err);
    free(fitted);
    site_free(site);
    return ok;
}

static bool works_with(const Import *self, size_t count, Err *err)
{
    Text text = {0};
    bool ok = build_site(self, count, &text, err) &&
              check_site(self, text_string(&self->path), &text, err);
    text_clear(&text);
    return ok;
}

/* Each entry that is right alone and makes the site wrong: the last of the fewest with which it is.
 */
static void check_together(Import *self)
{
    Err err = {0};
    while (!works_with(self, self->entry_count, &err)) {
        size_t good = 0;
        size_t bad = self->entry_count;
        while (bad - good > 1) {
            size_t middle = good + (bad - good) / 2;
            Err here = {0};
            if (works_with(self, middle, &here)) {
                good = middle;
            } else {
                bad = middle;
                err = here;
            }
        }
        if (bad == 0) return; /* the site is wrong without any of them, and was read: cannot be */
        const char *text = strstr(err.text, ": error: ");
        Text told = {0};
        text_addf(&told, "with this row the site is wrong: %s",
                  text == NULL ? err.text : text + strlen(": error: "));
        import_complain(self, self->entries[bad - 1].row, 0, told.bytes);
        text_clear(&told);
        self->entries[bad - 1].is_left_out = true;
    }
}

/* The list stays within its limit. */
static void check_count(Import *self)
{
    const JsonValue *list = json_get(edit_root(&self->old), site_list_words[self->list]);
    size_t count = list == NULL ? 0 : json_count(list);
    for (size_t i = 0; i < self->entry_count; i++) {
        if (self->entries[i].at != IMPORT_NONE) continue;
        if (++count != (size_t)site_list_max(self->list) + 1) continue;
        Text text = {0};
        text_addf(&text, "from this row on the site has over %d %s, limit 1..%d",
                  site_list_max(self->list), site_list_words[self->list],
                  site_list_max(self->list));
        import_complain(self, self->entries[i].row, 0, text.bytes);
        text_clear(&text);
    }
}

/* --- From outside ---------------------------------------------------------------------------- */

static bool read_asset(const char *assets, const char *name, Text *path, Text *out, Err *err)
{
    text_addf(path, "%s/%s", assets, name);
    return os_file_read(path->bytes, WORK_BYTES_MAX, out, err);
}

static bool read_old(Import *self, const ImportJob *job, Err *err)
{
    Text paths[2] = {{0}};
    Text texts[3] = {{0}};
    text_addf(&self->path, "%s/site.json", job->folder);
    bool ok =
        read_asset(job->assets, "metals.json", &paths[0], &texts[0], err) &&
        read_asset(job->assets, "kinds.json", &paths[1], &texts[1], err) &&
        os_file_read(self->path.bytes, WORK_BYTES_MAX, &texts[2], err) &&
        metals_parse(paths[0].bytes, text_string(&texts[0]), texts[0].len, &self->metals, err) &&
        kinds_parse(paths[1].bytes, text_string(&texts[1]), texts[1].len, &self->kinds, err) &&
        site_parse(self->path.bytes, text_string(&texts[2]), texts[2].len, self->metals,
                   self->kinds, &self->site, err) &&
        check_site(self, self->path.bytes, &texts[2], err) &&
        edit_begin(self->path.bytes, texts[2].bytes, texts[2].len, &self->old, err);
    for (int i = 0; i < 3; i++) {
        if (i < 2) text_clear(&paths[i]);
        text_clear(&texts[i]);
    }
    return ok;
}

static int compare_complaints(const void *a, const void *b)
{
    const ImportComplaint *x = a;
    const ImportComplaint *y = b;
    if (x->row != y->row) return x->row < y->row ? -1 : 1;
    if (x->column != y->column) return x->column < y->column ? -1 : 1;
    return x->number < y->number ? -1 : 1;
}

bool import_read(const ImportJob *job, Import **out, Err *err)
{
    CHECK(job->map_count <= IMPORT_MAPS_MAX);
    if (!import_check_maps(job, err)) return false;
    Import *self = check_calloc(1, sizeof *self);
    self->list = job->list;
    bool ok = read_old(self, job, err) && import_read_table(self, job, err);
    if (ok && self->complaint_count == 0) import_add_rows(self);
    for (size_t i = 0; ok && i < self->entry_count; i++) {
        ok = build_entry(self, &self->entries[i], err);
    }
    if (ok) check_count(self);
    if (ok && self->complaint_count == 0) check_together(self);
    if (ok && self->complaint_count == 0) {
        ok = build_site(self, self->entry_count, &self->fresh, err);
    }
    if (!ok) {
        import_free(self);
        return false;
    }
    if (self->complaint_count > 0) {
        qsort(self->complaints, self->complaint_count, sizeof *self->complaints,
              compare_complaints);
    }
    *out = self;
    return true;
}

void import_free(Import *import)
{
    if (import == NULL) return;
    for (size_t i = 0; i < import->entry_count; i++) {
        text_clear(&import->entries[i].key);
        text_clear(&import->entries[i].json);
        text_clear(&import->entries[i].told);
    }
    for (size_t i = 0; i < import->complaint_count; i++) {
        free(import->complaints[i].text);
    }
    for (size_t i = 0; i < import->heading_count; i++) {
        text_clear(&import->headings[i].name);
    }
    free(import->entries);
    free(import->entry_of);
    free(import->bad);
    free(import->complaints);
    sheet_free(import->sheet);
    edit_clear(&import->old);
    text_clear(&import->fresh);
    site_free(import->site);
    kinds_free(import->kinds);
    metals_free(import->metals);
    text_clear(&import->path);
    text_clear(&import->file);
    free(import);
}

size_t import_error_count(const Import *import)
{
    return import->complaint_count;
}

const char *import_error(const Import *import, size_t index)
{
    CHECK(index < import->complaint_count);
    return import->complaints[index].text;
}

ImportCount import_count(const Import *import)
{
    ImportCount count = {0};
    for (size_t i = 0; i < import->entry_count; i++) {
        const ImportEntry *entry = &import->entries[i];
        if (!changes(entry))
            count.same++;
        else if (entry->at == IMPORT_NONE)
            count.added++;
        else
            count.changed++;
    }
    return count;
}

void import_tell(const Import *import, Text *out)
{
    for (size_t i = 0; i < import->entry_count; i++) {
        const ImportEntry *entry = &import->entries[i];
        if (!changes(entry)) continue;
        text_addf(out, "%s  %s%s%s\n", entry->at == IMPORT_NONE ? "added  " : "changed",
                  entry->key.bytes, entry->told.len > 0 ? ":" : "", text_string(&entry->told));
    }
}

/* What lies on disk is read as the next start of the program will read it. */
static bool read_back(const Import *import, const char *aside, Err *err)
{
    Text there = {0};
    Text now = {0};
    bool ok = os_file_read(aside, WORK_BYTES_MAX, &there, err) &&
              check_site(import, aside, &there, err) &&
              os_file_read(import->path.bytes, WORK_BYTES_MAX, &now, err);
    const Text *old = &import->old.text;
    if (ok && (now.len != old->len || memcmp(now.bytes, old->bytes, old->len) != 0)) {
        ok = err_set(err, ERR_INPUT, "%s: was changed by somebody else meanwhile",
                     import->path.bytes);
    }
    text_clear(&now);
    text_clear(&there);
    return ok;
}

bool import_write(const Import *import, Err *err)
{
    CHECK(import->complaint_count == 0);
    Text aside = {0};
    text_addf(&aside, "%s.import", import->path.bytes);
    bool ok = os_file_write(aside.bytes, text_string(&import->fresh), import->fresh.len, err);
    if (ok && !(read_back(import, aside.bytes, err) &&
                os_file_move(aside.bytes, import->path.bytes, err))) {
        (void)remove(aside.bytes); /* what is wrong is told already */
        ok = false;
    }
    text_clear(&aside);
    return ok;
}
