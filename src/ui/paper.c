/* Headings, paragraphs, tabs and pages. */
#include "ui/paper.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "records/stamp.h"

bool paper_is_big(const Ui *ui)
{
    return ui->text_percent >= PAPER_BIG_PERCENT;
}

double paper_row(const Ui *ui, int px, double least_px)
{
    return fmax(least_px, ceil(draw_line_height(ui_px(ui, px)) + 12.0));
}

double paper_words(Ui *ui, double x, double y, double width, int px, bool is_bold,
                   const char *words)
{
    return ui_text(ui, (DrawRect){x, y, width, 0}, px, is_bold, DRAW_INK, DRAW_PAPER, DRAW_START,
                   words);
}

double paper_heading(Ui *ui, double x, double y, double width, const char *key)
{
    return paper_words(ui, x, y, width, 24, true, ui_say(ui, key));
}

double paper_say(Ui *ui, double x, double y, double width, int px, DrawRole role, const char *key)
{
    return ui_text(ui, (DrawRect){x, y, width, 0}, px, false, role, DRAW_PAPER, DRAW_START,
                   ui_say(ui, key));
}

double paper_height(const Ui *ui, double width, int px, bool is_bold, const char *words)
{
    int size = ui_px(ui, px);
    return draw_wrap(&ui->measure, words, width, size, is_bold, NULL, NULL) *
           draw_line_height(size);
}

/* The bytes of one character less: where the last one of `len` bytes begins. */
static size_t one_less(const char *words, size_t len)
{
    do {
        len--;
    } while (len > 0 && ((unsigned char)words[len] & 0xC0) == 0x80);
    return len;
}

void paper_line(Ui *ui, DrawRect box, const PaperInk *ink, const char *words)
{
    double height = draw_line_height(ui_px(ui, ink->px));
    Text cut = {0};
    text_add(&cut, words);
    for (size_t len = cut.len; len > 0 && ui_width(ui, ink->px, ink->is_bold, cut.bytes) > box.w;) {
        len = one_less(words, len);
        cut.len = 0;
        text_add_bytes(&cut, words, len);
        text_add(&cut, "\xE2\x80\xA6");
    }
    DrawRect at = {box.x, box.y + (box.h - height) / 2.0, box.w, height};
    (void)ui_text(ui, at, ink->px, ink->is_bold, ink->role, ink->ground, ink->align,
                  text_string(&cut));
    text_clear(&cut);
}

bool paper_choice(Ui *ui, uint32_t id, DrawRect box, const char *label, bool is_chosen)
{
    UiButton button = {
        .box = box, .label = label, .look = is_chosen ? UI_CHOSEN : UI_PLAIN, .px = 19};
    return ui_button(ui, id, &button);
}

DrawRole paper_face(const Ui *ui, uint32_t id, DrawRect box, bool is_chosen, DrawRole *letters)
{
    double x, y;
    bool held = ui_is_dragged(ui, id, &x, &y) && x >= box.x && x < box.x + box.w && y >= box.y &&
                y < box.y + box.h;
    *letters = held ? DRAW_PAPER : DRAW_INK;
    if (held) return DRAW_INK;
    return is_chosen ? DRAW_WASH : DRAW_SHEET;
}

double paper_tabs(Ui *ui, double y, const char *const keys[], int *tab)
{
    int count = 0;
    while (keys[count] != NULL) {
        count++;
    }
    double width = (ui->width - 2.0 * UI_MARGIN - UI_GAP * (count - 1)) / count;
    double height = paper_row(ui, 19, 59);
    for (int i = 0; i < count; i++) {
        DrawRect box = {UI_MARGIN + i * (width + UI_GAP), y, width, height};
        if (paper_choice(ui, ui_id("tab", i), box, ui_say(ui, keys[i]), *tab == i)) *tab = i;
    }
    return y + height + UI_GAP;
}

void paper_pages(Ui *ui, const char *name, DrawRect box, int pages, int *page)
{
    if (*page > pages - 1) *page = pages - 1;
    if (*page < 0) *page = 0;
    if (pages <= 1) return;
    char words[32];
    DrawRect back = {box.x, box.y, 59, box.h};
    DrawRect on = {box.x + box.w - 59, box.y, 59, box.h};
    UiButton before = {.box = back,
                       .label = "\xE2\x80\xB9", /* an angle to the left, and to the right */
                       .px = 19,
                       .is_disabled = *page == 0,
                       .key = UI_KEY_PAGE_UP};
    UiButton after = {.box = on,
                      .label = "\xE2\x80\xBA",
                      .px = 19,
                      .is_disabled = *page == pages - 1,
                      .key = UI_KEY_PAGE_DOWN};
    (void)snprintf(words, sizeof words, "%d / %d", *page + 1, pages);
    PaperInk ink = {19, false, DRAW_INK, DRAW_PAPER, DRAW_MIDDLE};
    paper_line(ui, (DrawRect){box.x + 71, box.y, box.w - 142, box.h}, &ink, words);
    int step = 0;
    if (ui_button(ui, ui_id(name, 0), &before)) step = -1;
    if (ui_button(ui, ui_id(name, 1), &after)) step = 1;
    *page += step;
}

void paper_date(const Ui *ui, int64_t time_us, Text *out)
{
    char stamp[REC_STAMP_BYTES];
    char key[16];
    rec_stamp_print(time_us, stamp);
    int month = (stamp[5] - '0') * 10 + stamp[6] - '0';
    int day = (stamp[8] - '0') * 10 + stamp[9] - '0';
    (void)snprintf(key, sizeof key, "month.%d", month);
    text_addf(out, "%d %s %.4s", day, ui_say(ui, key), stamp);
}
