/* Text, CSV and JSON of a page. */
#include "reports/render.h"

#include <string.h>

#include "records/stamp.h"

/* --- Text ------------------------------------------------------------------------------------ */

/* A character and its width on a terminal. The ranges are those of marks above and below letters
 * (none) and of the wide East Asian blocks (two columns) that names are likely to hold; what is not
 * here counts as one. From Unicode's own charts, from memory. */
static size_t read_character(const char *at, int *columns)
{
    static const struct {
        uint32_t from, to;
        int columns;
    } ranges[] = {{0x0300, 0x036F, 0}, {0x0591, 0x05BD, 0}, {0x064B, 0x065F, 0},
                  {0x093C, 0x093C, 0}, {0x0941, 0x0948, 0}, {0x094D, 0x094D, 0},
                  {0x0E31, 0x0E31, 0}, {0x0E34, 0x0E3A, 0}, {0x0E47, 0x0E4E, 0},
                  {0x1100, 0x115F, 2}, {0x2E80, 0xA4CF, 2}, {0xAC00, 0xD7A3, 2},
                  {0xF900, 0xFAFF, 2}, {0xFE30, 0xFE6F, 2}, {0xFF00, 0xFF60, 2}};
    const unsigned char *byte = (const unsigned char *)at;
    size_t len = byte[0] < 0x80 ? 1 : byte[0] < 0xE0 ? 2 : byte[0] < 0xF0 ? 3 : 4;
    uint32_t code = byte[0] < 0x80 ? byte[0] : byte[0] & (0xFFU >> (len + 1));
    for (size_t i = 1; i < len; i++) {
        code = code << 6 | (byte[i] & 0x3FU);
    }
    *columns = 1;
    for (size_t i = 0; i < sizeof ranges / sizeof ranges[0]; i++) {
        if (code >= ranges[i].from && code <= ranges[i].to) *columns = ranges[i].columns;
    }
    return len;
}

static int width_of(const char *text, size_t len)
{
    int width = 0;
    for (size_t i = 0; i < len;) {
        int columns;
        i += read_character(text + i, &columns);
        width += columns;
    }
    return width;
}

static void add_blanks(Text *out, int count)
{
    if (count > 0) text_addf(out, "%*s", count, "");
}

/* Words of `text` in lines that begin at column `indent`, which the first one has reached already,
 * and an end of line. A word that is too long stands alone. */
static void wrap(const char *text, int indent, Text *out)
{
    int at = indent;
    for (const char *word = text; *word != '\0';) {
        size_t len = strcspn(word, " ");
        int width = width_of(word, len);
        if (at > indent && at + 1 + width > RENDER_COLUMNS) {
            text_add(out, "\n");
            add_blanks(out, indent);
            at = indent;
        } else if (at > indent) {
            text_add(out, " ");
            at++;
        }
        text_add_bytes(out, word, len);
        at += width;
        word += len + strspn(word + len, " ");
    }
    text_add(out, "\n");
}

/* A cell on one line: "signed, until 2027-03-03". */
static void add_cell(const PageCell *cell, Text *out)
{
    if (cell->mark == PAGE_BOX) text_add(out, "[ ] ");
    text_add(out, cell->text);
    if (cell->note[0] != '\0')
        text_addf(out, "%s%s", cell->text[0] == '\0' ? "" : ", ", cell->note);
}

static int cell_width(const PageCell *cell)
{
    Text text = {0};
    add_cell(cell, &text);
    int width = width_of(text_string(&text), text.len);
    text_clear(&text);
    return width;
}

static int column_width(const PageBlock *table, size_t column)
{
    int width = width_of(table->columns[column].name, strlen(table->columns[column].name));
    for (size_t i = column; i < table->cell_count; i += table->column_count) {
        int wanted = cell_width(&table->cells[i]);
        if (wanted > width) width = wanted;
    }
    return width;
}

static void tell_cell(const char *text, int width, bool is_last, Text *out)
{
    text_add(out, text);
    if (!is_last) add_blanks(out, width - width_of(text, strlen(text)) + 2);
}

static void tell_row(const PageBlock *table, size_t first, const int widths[], Text *out)
{
    size_t begin = out->len;
    for (size_t i = 0; i < table->column_count; i++) {
        Text cell = {0};
        add_cell(&table->cells[first + i], &cell);
        tell_cell(text_string(&cell), widths[i], i + 1 == table->column_count, out);
        text_clear(&cell);
    }
    while (out->len > begin && out->bytes[out->len - 1] == ' ') {
        out->bytes[--out->len] = '\0';
    }
    text_add(out, "\n");
}

/* Each row by itself: its first cell, then the others behind their names; empty ones are left
 * out. */
static void tell_records(const PageBlock *table, Text *out)
{
    for (size_t i = 0; i < page_rows(table) * table->column_count; i++) {
        size_t column = i % table->column_count;
        int indent = column == 0 ? 2 : 6;
        Text line = {0};
        if (column > 0) text_addf(&line, "%s: ", table->columns[column].name);
        size_t before = line.len;
        add_cell(&table->cells[i], &line);
        if (line.len > before) {
            add_blanks(out, indent);
            wrap(line.bytes, indent, out);
        }
        text_clear(&line);
    }
}

enum { RENDER_TABLE_COLUMNS = 16 }; /* more than that are told row by row */

static void tell_table(const PageBlock *table, Text *out)
{
    int widths[RENDER_TABLE_COLUMNS] = {0};
    int total = -2;
    if (table->name[0] != '\0') text_addf(out, "%s\n", table->name);
    for (size_t i = 0; i < table->column_count && i < RENDER_TABLE_COLUMNS; i++) {
        widths[i] = column_width(table, i);
        total += widths[i] + 2;
    }
    if (table->column_count > RENDER_TABLE_COLUMNS || total > RENDER_COLUMNS - 2) {
        tell_records(table, out);
        return;
    }
    text_add(out, "  ");
    for (size_t i = 0; i < table->column_count; i++) {
        tell_cell(table->columns[i].name, widths[i], i + 1 == table->column_count, out);
    }
    text_add(out, "\n");
    for (size_t i = 0; i + table->column_count <= table->cell_count; i += table->column_count) {
        text_add(out, "  ");
        tell_row(table, i, widths, out);
    }
}

static void tell_places(const char *caption, const char *const words[PAGE_PLACES], Text *out)
{
    Text line = {0};
    const char *between = ":";
    text_add(&line, caption);
    for (int i = 0; i < PAGE_PLACES; i++) {
        if (words[i] == NULL) continue;
        text_addf(&line, "%s %s", between, words[i]);
        between = " |";
    }
    wrap(line.bytes, 0, out);
    text_clear(&line);
}

static void tell_block(const PageBlock *block, Text *out)
{
    Text text = {0};
    switch (block->kind) {
    case PAGE_HEADING:
        text_addf(out, "== %s\n", block->text);
        break;
    case PAGE_PARAGRAPH:
        wrap(block->text, 0, out);
        break;
    case PAGE_STEP:
        text_addf(out, "%2d. ", block->number);
        wrap(block->text, 4, out);
        break;
    case PAGE_CAUTION:
        text_add(out, "! ");
        wrap(block->text, 2, out);
        break;
    case PAGE_FIELD:
        text_addf(&text, "%s: %s", block->name,
                  block->text == NULL ? "________________________" : block->text);
        wrap(text.bytes, 0, out);
        break;
    case PAGE_TABLE:
        tell_table(block, out);
        break;
    case PAGE_DRAWING:
        tell_places(block->drawing.above, block->drawing.spots, out);
        tell_places(block->drawing.front, block->drawing.heights, out);
        break;
    }
    text_clear(&text);
}

void render_text(const Page *page, Text *out)
{
    wrap(page->title, 0, out);
    if (page->subtitle[0] != '\0') wrap(page->subtitle, 0, out);
    for (size_t i = 0; i < page->block_count; i++) {
        PageBlockKind kind = page->blocks[i].kind;
        bool goes_on = i > 0 && kind == page->blocks[i - 1].kind && kind != PAGE_TABLE;
        if (!goes_on || kind == PAGE_HEADING) text_add(out, "\n");
        tell_block(&page->blocks[i], out);
    }
    text_add(out, "\n");
    wrap(page->foot, 0, out);
}

/* --- CSV ------------------------------------------------------------------------------------- */

static void add_csv(const char *text, bool is_first, Text *out)
{
    if (!is_first) text_add(out, ",");
    bool is_formula = text[0] != '\0' && strchr("=+-@\t\r", text[0]) != NULL;
    bool is_quoted = strpbrk(text, ",\"\r\n") != NULL;
    if (is_quoted) text_add(out, "\"");
    if (is_formula) text_add(out, "'");
    for (const char *at = text; *at != '\0'; at++) {
        if (*at == '"') text_add(out, "\"");
        text_add_bytes(out, at, 1);
    }
    if (is_quoted) text_add(out, "\"");
}

static void end_csv_row(size_t count, size_t widest, Text *out)
{
    for (; count < widest; count++) {
        text_add(out, ",");
    }
    text_add(out, "\r\n");
}

static void print_csv_table(const PageBlock *table, bool is_named, size_t widest, Text *out)
{
    if (table->column_count == 0) return;
    if (is_named) add_csv(table->id, true, out);
    for (size_t i = 0; i < table->column_count; i++) {
        add_csv(table->columns[i].name, i == 0 && !is_named, out);
    }
    end_csv_row(table->column_count, widest, out);
    for (size_t i = 0; i < table->cell_count; i++) {
        size_t column = i % table->column_count;
        Text cell = {0};
        if (is_named && column == 0) add_csv(table->id, true, out);
        text_add(&cell, table->cells[i].text);
        if (table->cells[i].note[0] != '\0') {
            text_addf(&cell, "%s%s", cell.len == 0 ? "" : ", ", table->cells[i].note);
        }
        add_csv(text_string(&cell), column == 0 && !is_named, out);
        if (column + 1 == table->column_count) end_csv_row(table->column_count, widest, out);
        text_clear(&cell);
    }
}

void render_csv(const Page *page, Text *out)
{
    size_t tables = 0;
    size_t widest = 0;
    for (size_t i = 0; i < page->block_count; i++) {
        const PageBlock *block = &page->blocks[i];
        tables += block->kind == PAGE_TABLE;
        if (block->column_count > widest) widest = block->column_count;
    }
    for (size_t i = 0; i < page->block_count; i++) {
        if (page->blocks[i].kind != PAGE_TABLE) continue;
        print_csv_table(&page->blocks[i], tables > 1, widest, out);
    }
}

/* --- JSON ------------------------------------------------------------------------------------ */

static void print_name(const char *name, bool is_first, const char *between, Text *out)
{
    if (!is_first) text_add(out, between);
    text_add_quoted(out, name);
    text_add(out, ": ");
}

static void print_cell(const PageCell *cell, Text *out)
{
    if (cell->mark == PAGE_PLAIN && cell->note[0] == '\0') {
        text_add_quoted(out, cell->text);
        return;
    }
    text_addf(out, "{\"state\": \"%s\", \"text\": ", page_mark_words[cell->mark]);
    text_add_quoted(out, cell->text);
    text_add(out, ", \"note\": ");
    text_add_quoted(out, cell->note);
    text_add(out, "}");
}

static void print_table(const PageBlock *table, Text *out)
{
    text_add(out, "[");
    for (size_t i = 0; i < table->cell_count; i++) {
        size_t column = i % table->column_count;
        if (column == 0) text_add(out, i == 0 ? "\n   {" : ",\n   {");
        print_name(table->columns[column].id, column == 0, ", ", out);
        print_cell(&table->cells[i], out);
        if (column + 1 == table->column_count) text_add(out, "}");
    }
    text_add(out, "]");
}

static void print_words(const char *name, const char *const words[PAGE_PLACES], Text *out)
{
    text_addf(out, ", \"%s\": [", name);
    bool is_first = true;
    for (int i = 0; i < PAGE_PLACES; i++) {
        if (words[i] == NULL) continue;
        if (!is_first) text_add(out, ", ");
        text_add_quoted(out, words[i]);
        is_first = false;
    }
    text_add(out, "]");
}

static void print_drawing(const PageDrawing *drawing, Text *out)
{
    text_addf(out,
              "{\"pack_um\": [%lld, %lld, %lld], \"aperture_um\": [%lld, %lld], "
              "\"belt_up_um\": %lld",
              (long long)drawing->pack_length_um, (long long)drawing->pack_width_um,
              (long long)drawing->pack_height_um, (long long)drawing->aperture_width_um,
              (long long)drawing->aperture_height_um, (long long)drawing->belt_up_um);
    print_words("places", drawing->spots, out);
    print_words("heights", drawing->heights, out);
    text_add(out, "}");
}

/* All blocks of a kind under one name: objects for what has an id, else a list. */
static void print_kind(const Page *page, const char *name, PageBlockKind kind, Text *out)
{
    bool is_object = kind == PAGE_FIELD || kind == PAGE_TABLE;
    bool is_first = true;
    text_addf(out, ",\n \"%s\": %s", name, is_object ? "{" : "[");
    for (size_t i = 0; i < page->block_count; i++) {
        const PageBlock *block = &page->blocks[i];
        if (block->kind != kind) continue;
        if (is_object)
            print_name(block->id, is_first, ",\n  ", out);
        else if (!is_first)
            text_add(out, ",\n  ");
        is_first = false;
        if (kind == PAGE_TABLE)
            print_table(block, out);
        else if (kind == PAGE_DRAWING)
            print_drawing(&block->drawing, out);
        else if (block->text == NULL)
            text_add(out, "null");
        else
            text_add_quoted(out, block->text);
    }
    text_add(out, is_object ? "}" : "]");
}

void render_json(const Page *page, Text *out)
{
    char as_of[REC_STAMP_BYTES];
    rec_stamp_print(page->as_of_us, as_of);
    text_add(out, "{\"report\": ");
    text_add_quoted(out, page->report);
    text_add(out, ", \"language\": ");
    text_add_quoted(out, page->language);
    text_addf(out, ", \"as_of\": \"%s\",\n \"title\": ", as_of);
    text_add_quoted(out, page->title);
    text_add(out, ", \"subtitle\": ");
    text_add_quoted(out, page->subtitle);
    print_kind(page, "fields", PAGE_FIELD, out);
    print_kind(page, "tables", PAGE_TABLE, out);
    print_kind(page, "steps", PAGE_STEP, out);
    print_kind(page, "drawings", PAGE_DRAWING, out);
    print_kind(page, "text", PAGE_PARAGRAPH, out);
    print_kind(page, "cautions", PAGE_CAUTION, out);
    text_add(out, ",\n \"foot\": ");
    text_add_quoted(out, page->foot);
    text_add(out, "}\n");
}
