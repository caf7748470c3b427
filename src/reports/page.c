/* Pages built block by block. */
#include "reports/page.h"

#include <stdlib.h>
#include <string.h>

const char *const page_mark_words[PAGE_MARK_COUNT] = {
    [PAGE_PLAIN] = "",
    [PAGE_IN_TRAINING] = "in-training",
    [PAGE_ASSESSED] = "assessed",
    [PAGE_OBSERVED] = "observed",
    [PAGE_SIGNED] = "signed",
    [PAGE_DUE] = "due",
    [PAGE_LAPSED] = "lapsed",
    [PAGE_WITHDRAWN] = "withdrawn",
    [PAGE_FROM_PAPER] = "from-paper",
    [PAGE_MISSED] = "missed",
    [PAGE_BOX] = "box",
};

Page *page_new(const char *report, const char *language, int64_t as_of_us)
{
    Page *page = check_calloc(1, sizeof *page);
    page->report = page_keep(page, report);
    page->language = page_keep(page, language);
    page->title = page->subtitle = page->foot = "";
    page->as_of_us = as_of_us;
    return page;
}

void page_free(Page *page)
{
    if (page == NULL) return;
    for (size_t i = 0; i < page->block_count; i++) {
        free(page->blocks[i].columns);
        free(page->blocks[i].cells);
    }
    for (size_t i = 0; i < page->kept_count; i++) {
        free(page->kept[i]);
    }
    free(page->blocks);
    free(page->kept);
    free(page);
}

/* Bytes of the character at `at` that must not be printed, 0 when it may. */
static size_t unwanted(const char *at)
{
    const unsigned char *byte = (const unsigned char *)at;
    if (byte[0] < 0x20 || byte[0] == 0x7F) return 1;
    if (byte[0] == 0xC2 && byte[1] >= 0x80 && byte[1] < 0xA0) return 2;
    if (byte[0] != 0xE2) return 0;
    bool turns = (byte[1] == 0x80 && byte[2] >= 0xAA && byte[2] <= 0xAE) ||
                 (byte[1] == 0x81 && byte[2] >= 0xA6 && byte[2] <= 0xA9);
    return turns ? 3 : 0;
}

/* Room for one more in an array that doubles: `count` elements are in use. */
static void *grow(void *array, size_t count, size_t bytes)
{
    if ((count & (count - 1)) != 0) return array;
    return check_realloc(array, count == 0 ? 1 : 2 * count, bytes);
}

const char *page_keep(Page *page, const char *text)
{
    char *copy = check_calloc(strlen(text) + 1, 1);
    size_t len = 0;
    while (*text != '\0') {
        size_t skip = unwanted(text);
        copy[len] = *text;
        if (skip > 0) copy[len] = ' ';
        len++;
        text += skip > 0 ? skip : 1;
    }
    page->kept = grow(page->kept, page->kept_count, sizeof *page->kept);
    page->kept[page->kept_count++] = copy;
    return copy;
}

static PageBlock *add_block(Page *page, PageBlockKind kind)
{
    page->blocks = grow(page->blocks, page->block_count, sizeof *page->blocks);
    PageBlock *block = &page->blocks[page->block_count++];
    *block = (PageBlock){.kind = kind, .id = "", .name = ""};
    return block;
}

static void add_text(Page *page, PageBlockKind kind, const char *text)
{
    const char *kept = page_keep(page, text);
    add_block(page, kind)->text = kept;
}

void page_heading(Page *page, const char *text)
{
    add_text(page, PAGE_HEADING, text);
}

void page_paragraph(Page *page, const char *text)
{
    add_text(page, PAGE_PARAGRAPH, text);
}

void page_step(Page *page, const char *text)
{
    int number = 1;
    for (size_t i = page->block_count; i > 0 && page->blocks[i - 1].kind == PAGE_STEP; i--) {
        number++;
    }
    add_text(page, PAGE_STEP, text);
    page->blocks[page->block_count - 1].number = number;
}

void page_caution(Page *page, const char *text)
{
    add_text(page, PAGE_CAUTION, text);
}

void page_field(Page *page, const char *id, const char *name, const char *value)
{
    PageBlock *block = add_block(page, PAGE_FIELD);
    block->id = page_keep(page, id);
    block->name = page_keep(page, name);
    block->text = value == NULL ? NULL : page_keep(page, value);
}

void page_drawing(Page *page, const PageDrawing *drawing)
{
    PageDrawing *own = &add_block(page, PAGE_DRAWING)->drawing;
    *own = *drawing;
    own->above = page_keep(page, drawing->above);
    own->front = page_keep(page, drawing->front);
    own->travel = page_keep(page, drawing->travel);
    for (int i = 0; i < PAGE_PLACES; i++) {
        if (own->spots[i] != NULL) own->spots[i] = page_keep(page, own->spots[i]);
        if (own->heights[i] != NULL) own->heights[i] = page_keep(page, own->heights[i]);
    }
}

void page_table(Page *page, const char *id, const char *name)
{
    PageBlock *block = add_block(page, PAGE_TABLE);
    block->id = page_keep(page, id);
    block->name = page_keep(page, name);
}

static PageBlock *last_table(Page *page)
{
    CHECK(page->block_count > 0 && page->blocks[page->block_count - 1].kind == PAGE_TABLE);
    return &page->blocks[page->block_count - 1];
}

void page_column(Page *page, const char *id, const char *name)
{
    PageBlock *table = last_table(page);
    CHECK(table->cell_count == 0);
    table->columns = grow(table->columns, table->column_count, sizeof *table->columns);
    table->columns[table->column_count++] =
        (PageColumn){page_keep(page, id), page_keep(page, name)};
}

void page_cell(Page *page, PageMark mark, const char *text, const char *note)
{
    PageBlock *table = last_table(page);
    CHECK(table->column_count > 0);
    table->cells = grow(table->cells, table->cell_count, sizeof *table->cells);
    table->cells[table->cell_count++] =
        (PageCell){mark, page_keep(page, text), page_keep(page, note)};
}

size_t page_rows(const PageBlock *table)
{
    return table->column_count == 0 ? 0 : table->cell_count / table->column_count;
}
