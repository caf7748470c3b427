/* Headings and values of an import. */
#include "app/import_table.h"

#include <stdlib.h>
#include <string.h>

static const ImportColumn lines[] = {
    {"id", NULL, "id", CELL_TEXT, true},
    {"like", NULL, NULL, CELL_LIKE, false},
    {"name", "name", NULL, CELL_LANGUAGE, true},
    {"name_*", "name", NULL, CELL_LANGUAGE, false},
    {"head", NULL, "head", CELL_TEXT, false},
    {"belt_mm_s", NULL, "belt_mm_s", CELL_NUMBER, false},
    {"packs_per_minute", NULL, "packs_per_minute", CELL_NUMBER, false},
    {"lanes", NULL, "lanes", CELL_NUMBER, false},
    {"infeed_mm", NULL, "infeed_mm", CELL_NUMBER, false},
    {"eye_mm", NULL, "eye_mm", CELL_NUMBER, false},
    {"end_mm", NULL, "end_mm", CELL_NUMBER, false},
    {"belt_above_floor_mm", NULL, "belt_above_floor_mm", CELL_NUMBER, false},
    {"reject_kind", "reject", "kind", CELL_TEXT, false},
    {"reject_at_mm", "reject", "at_mm", CELL_NUMBER, false},
    {"reject_started_by", "reject", "started_by", CELL_TEXT, false},
    {"reject_timed_by", "reject", "timed_by", CELL_TEXT, false},
    {"reject_stroke_ms", "reject", "stroke_ms", CELL_NUMBER, false},
    {"reject_bin_packs", "reject", "bin_packs", CELL_NUMBER, false},
    {"product", NULL, NULL, CELL_PRODUCT, false},
    {"validated_*_mm", NULL, NULL, CELL_VALIDATED, false},
    {0},
};

static const ImportColumn products[] = {
    {"id", NULL, "id", CELL_TEXT, true},
    {"kind", NULL, "kind", CELL_TEXT, true},
    {"name", "name", NULL, CELL_LANGUAGE, true},
    {"name_*", "name", NULL, CELL_LANGUAGE, false},
    {"length_mm", NULL, "length_mm", CELL_NUMBER, true},
    {"width_mm", NULL, "width_mm", CELL_NUMBER, true},
    {"height_mm", NULL, "height_mm", CELL_NUMBER, true},
    {"columns", NULL, "columns", CELL_NUMBERS, false},
    {"temperature_c", NULL, "temperature_c", CELL_NUMBER, false},
    {"conductivity_s_per_m", NULL, "conductivity_s_per_m", CELL_NUMBER, false},
    {"relative_permeability", NULL, "relative_permeability", CELL_NUMBER, false},
    {"piece_goes", NULL, "piece_goes", CELL_WORDS, true},
    {0},
};

static const ImportColumn pieces[] = {
    {"id", NULL, "id", CELL_TEXT, true},
    {"metal", NULL, "metal", CELL_TEXT, true},
    {"diameter_mm", NULL, "diameter_mm", CELL_NUMBER, true},
    {"length_mm", NULL, "length_mm", CELL_NUMBER, false},
    {"form", NULL, "form", CELL_TEXT, true},
    {"state", NULL, "state", CELL_TEXT, false},
    {"certificate", NULL, "certificate", CELL_TEXT, false},
    {"good_until", NULL, "good_until", CELL_TEXT, false},
    {0},
};

static const ImportColumn people[] = {
    {"name", NULL, "name", CELL_TEXT, true},
    {"role", NULL, "role", CELL_TEXT, false},
    {"shift", NULL, "shift", CELL_TEXT, false},
    {0},
};

const ImportColumn *import_columns(SiteList list)
{
    static const ImportColumn *const tables[SITE_LIST_COUNT] = {[SITE_LINES] = lines,
                                                                [SITE_PRODUCTS] = products,
                                                                [SITE_PIECES] = pieces,
                                                                [SITE_PEOPLE] = people};
    return tables[list];
}

/* True when `name` is the pattern with something of an id's length in the '*'s place. */
static bool fits(const char *pattern, const char *name, char word[SITE_ID_BYTES])
{
    const char *star = strchr(pattern, '*');
    word[0] = '\0';
    if (star == NULL) return strcmp(pattern, name) == 0;
    size_t before = (size_t)(star - pattern);
    size_t behind = strlen(star + 1);
    size_t len = strlen(name);
    if (len <= before + behind || len - before - behind >= SITE_ID_BYTES) return false;
    if (strncmp(pattern, name, before) != 0) return false;
    if (strcmp(star + 1, name + len - behind) != 0) return false;
    memcpy(word, name + before, len - before - behind);
    word[len - before - behind] = '\0';
    return true;
}

const ImportColumn *import_find_column(SiteList list, const char *name, char word[SITE_ID_BYTES])
{
    for (const ImportColumn *column = import_columns(list); column->name != NULL; column++) {
        if (fits(column->name, name, word)) return column;
    }
    return NULL;
}

void import_trim(const char *cell, Text *out)
{
    static const char blanks[] = " \t\r\n";
    cell += strspn(cell, blanks);
    size_t len = strlen(cell);
    while (len > 0 && strchr(blanks, cell[len - 1]) != NULL) {
        len--;
    }
    text_add_bytes(out, cell, len);
}

/* Append a number as JSON has it: no needless 0 in front, a digit on either side of the point. */
static bool add_number(const char *cell, char separator, Text *out)
{
    static const char digits[] = "0123456789";
    Text number = {0};
    text_add(&number, cell);
    char *comma = separator == ';' ? strchr(number.bytes, ',') : NULL;
    if (comma != NULL) *comma = '.';
    const char *at = number.bytes + (number.bytes[0] == '-');
    size_t whole = strspn(at, digits);
    bool ok = whole > 0 && (at[0] != '0' || whole == 1);
    at += whole;
    if (*at == '.') {
        size_t part = strspn(++at, digits);
        ok = ok && part > 0;
        at += part;
    }
    if (*at == 'e' || *at == 'E') {
        at++;
        at += *at == '-' || *at == '+';
        size_t part = strspn(at, digits);
        ok = ok && part > 0;
        at += part;
    }
    ok = ok && *at == '\0';
    if (ok) text_add(out, number.bytes);
    text_clear(&number);
    return ok;
}

/* Append a list of the cell's words, each a string or a number. */
static bool add_list(const char *cell, bool of_numbers, Text *out)
{
    bool ok = true;
    text_add(out, "[");
    for (size_t i = 0; ok && *cell != '\0'; i++) {
        size_t len = strcspn(cell, " ");
        Text word = {0};
        text_add_bytes(&word, cell, len);
        text_add(out, i == 0 ? "" : ", ");
        if (of_numbers)
            ok = add_number(text_string(&word), ',', out);
        else
            text_add_quoted(out, text_string(&word));
        text_clear(&word);
        cell += len;
        cell += strspn(cell, " ");
    }
    text_add(out, "]");
    return ok;
}

bool import_json(CellKind kind, const char *cell, char separator, Text *out, const char **why)
{
    if (kind == CELL_NUMBER || kind == CELL_VALIDATED) {
        *why = separator == ';' ? "must be a number such as 2.5 or 2,5"
                                : "must be a number such as 2.5 (a decimal comma wants semicolons "
                                  "between the cells)";
        return add_number(cell, separator, out);
    }
    if (kind == CELL_NUMBERS || kind == CELL_WORDS) {
        *why = "must be whole numbers with blanks between, such as 2 3";
        return add_list(cell, kind == CELL_NUMBERS, out);
    }
    text_add_quoted(out, cell);
    return true;
}
