/* Widgets, focus and the frame. */
#include "ui/ui.h"

#include <math.h>
#include <string.h>

void ui_begin(Ui *ui, DrawTheme theme)
{
    draw_begin(ui->list, ui->width, ui->height, theme);
    ui->order_count = 0;
    ui->is_used = false;
    UiMemory *memory = ui->memory;
    const UiEvent *event = ui->event;
    if (event->kind == UI_DOWN || event->kind == UI_MOVE || event->kind == UI_UP) {
        memory->pointer_x = event->x;
        memory->pointer_y = event->y;
        if (event->kind == UI_DOWN) {
            memory->focus_is_shown = false;
            memory->down_x = event->x;
            memory->down_y = event->y;
        }
    }
    if (event->kind == UI_KEY) memory->focus_is_shown = true;
}

/* Tab goes through all widgets; arrows do too, where no widget wants them for itself. */
static int step_of(const UiEvent *event)
{
    if (event->kind != UI_KEY) return 0;
    switch (event->key) {
    case UI_KEY_TAB:
    case UI_KEY_DOWN:
    case UI_KEY_RIGHT:
        return 1;
    case UI_KEY_BACK_TAB:
    case UI_KEY_UP:
    case UI_KEY_LEFT:
        return -1;
    case UI_KEY_OTHER:
    case UI_KEY_ENTER:
    case UI_KEY_SPACE:
    case UI_KEY_ESCAPE:
    case UI_KEY_BACKSPACE:
    case UI_KEY_HOME:
    case UI_KEY_END:
    case UI_KEY_PAGE_UP:
    case UI_KEY_PAGE_DOWN:
        return 0;
    }
    return 0;
}

void ui_end(Ui *ui)
{
    UiMemory *memory = ui->memory;
    int step = ui->is_used ? 0 : step_of(ui->event);
    int at = -1;
    for (int i = 0; i < ui->order_count; i++) {
        if (ui->order[i] == memory->focus) at = i;
    }
    if (step != 0 && ui->order_count > 0) {
        if (at < 0) at = step > 0 ? -1 : 0;
        at = (at + step + ui->order_count) % ui->order_count;
        memory->focus = ui->order[at];
    }
    if (ui->event->kind == UI_UP) memory->pressed = 0;
    memcpy(memory->order, ui->order, sizeof ui->order);
    memory->order_count = ui->order_count;
}

uint32_t ui_id(const char *name, int index)
{
    uint32_t hash = 2166136261u; /* FNV-1a, 32 bits */
    for (; *name != '\0'; name++) {
        hash = (hash ^ (uint32_t)(unsigned char)*name) * 16777619u;
    }
    hash = (hash ^ (uint32_t)index) * 16777619u;
    return hash == 0 ? 1 : hash;
}

const char *ui_say(const Ui *ui, const char *key)
{
    return texts_get(ui->texts, "ui", key);
}

void ui_fill(const Ui *ui, const char *key, const char *value, Text *out)
{
    const char *words = ui_say(ui, key);
    const char *gap = strstr(words, "{}");
    size_t len = gap == NULL ? strlen(words) : (size_t)(gap - words);
    text_add_bytes(out, words, len);
    if (gap != NULL) text_addf(out, "%s%s", value, gap + 2);
}

int ui_px(const Ui *ui, int px)
{
    return px * ui->text_percent / 100;
}

double ui_width(const Ui *ui, int px, bool is_bold, const char *words)
{
    return ui->measure.width(ui->measure.context, words, strlen(words), ui_px(ui, px), is_bold);
}

double ui_text(Ui *ui, DrawRect box, int px, bool is_bold, DrawRole role, DrawRole ground,
               DrawAlign align, const char *words)
{
    DrawStyle style = {.box = box,
                       .size_px = ui_px(ui, px),
                       .is_bold = is_bold,
                       .role = role,
                       .ground = ground,
                       .align = align};
    int lines = draw_wrap(&ui->measure, words, box.w, style.size_px, is_bold, NULL, NULL);
    double height = lines * draw_line_height(style.size_px);
    if (style.box.h < height) style.box.h = height;
    draw_text(ui->list, &style, words);
    return height;
}

/* --- Pressing -------------------------------------------------------------------------------- */

static bool contains(DrawRect box, double x, double y)
{
    return x >= box.x && x < box.x + box.w && y >= box.y && y < box.y + box.h;
}

static void add_target(Ui *ui, uint32_t id, DrawRect box, double least_px)
{
    DrawList *list = ui->list;
    if (list->target_count == list->target_capacity) {
        list->target_capacity = list->target_capacity == 0 ? 64 : list->target_capacity * 2;
        list->targets = check_realloc(list->targets, list->target_capacity, sizeof *list->targets);
    }
    list->targets[list->target_count++] = (DrawTarget){id, box, least_px};
    if (ui->order_count < UI_FOCUS_MAX) ui->order[ui->order_count++] = id;
}

static bool pressed_by_key(Ui *ui, uint32_t id, UiKey key, char typed)
{
    const UiEvent *event = ui->event;
    bool focused = ui->memory->focus == id;
    bool hit = false;
    if (event->kind == UI_KEY) {
        hit = (focused && (event->key == UI_KEY_ENTER || event->key == UI_KEY_SPACE)) ||
              (key != UI_KEY_OTHER && event->key == key);
    } else if (event->kind == UI_TYPED && typed != 0) {
        hit = event->text[0] == typed && event->text[1] == '\0';
    }
    if (hit) ui->is_used = true;
    return hit;
}

static bool press(Ui *ui, uint32_t id, DrawRect box, UiKey key, char typed)
{
    if (ui->is_used) return false;
    UiMemory *memory = ui->memory;
    const UiEvent *event = ui->event;
    if (event->kind == UI_DOWN && contains(box, event->x, event->y)) {
        memory->pressed = id;
        memory->focus = id;
        ui->is_used = true;
        return false;
    }
    if (event->kind == UI_UP && memory->pressed == id) {
        ui->is_used = true;
        return contains(box, event->x, event->y);
    }
    return pressed_by_key(ui, id, key, typed);
}

static void draw_focus(Ui *ui, uint32_t id, DrawRect box)
{
    if (ui->memory->focus != id || !ui->memory->focus_is_shown) return;
    DrawRect ring = {box.x - 4.5, box.y - 4.5, box.w + 9.0, box.h + 9.0};
    draw_rect(ui->list, ring, DRAW_NONE, DRAW_INK, 3, 10);
}

bool ui_area(Ui *ui, uint32_t id, DrawRect box, double least_px)
{
    add_target(ui, id, box, least_px);
    draw_focus(ui, id, box);
    return press(ui, id, box, UI_KEY_OTHER, 0);
}

bool ui_is_dragged(const Ui *ui, uint32_t id, double *x, double *y)
{
    if (ui->memory->pressed != id) return false;
    *x = ui->memory->pointer_x;
    *y = ui->memory->pointer_y;
    return true;
}

bool ui_key(Ui *ui, uint32_t id, UiKey key)
{
    if (ui->is_used || ui->memory->focus != id) return false;
    if (ui->event->kind != UI_KEY || ui->event->key != key) return false;
    ui->is_used = true;
    return true;
}

/* --- Buttons --------------------------------------------------------------------------------- */

typedef struct {
    DrawRole fill, letters, edge;
    double px;
} Face;

static Face face_of(const Ui *ui, uint32_t id, const UiButton *button)
{
    static const Face faces[] = {
        [UI_PLAIN] = {DRAW_SHEET, DRAW_INK, DRAW_INK, 2},
        [UI_NEXT] = {DRAW_ACCENT, DRAW_ONACCENT, DRAW_ACCENT, 2},
        [UI_STOP] = {DRAW_SHEET, DRAW_INK, DRAW_INK, 4},
        [UI_CHOSEN] = {DRAW_WASH, DRAW_INK, DRAW_ACCENT, 4},
    };
    const UiMemory *memory = ui->memory;
    bool held =
        memory->pressed == id && contains(button->box, memory->pointer_x, memory->pointer_y);
    if (held && !button->is_disabled) return (Face){DRAW_INK, DRAW_PAPER, DRAW_INK, 2};
    return faces[button->look];
}

static double draw_icon(Ui *ui, UiIcon icon, double x, double y, DrawRole role)
{
    DrawList *list = ui->list;
    if (icon == UI_ICON_NONE) return 0.0;
    if (icon == UI_ICON_BACK) {
        DrawPoint chevron[] = {{x + 16, y - 9}, {x + 6, y}, {x + 16, y + 9}};
        draw_line(list, chevron, 3, role, 3);
    } else if (icon == UI_ICON_STOP) {
        draw_rect(list, (DrawRect){x, y - 6, 24, 12}, role, DRAW_NONE, 0, 0);
    } else {
        draw_circle(list, x + 3, y, 3, role, DRAW_NONE, 0);
        draw_arc(list, x + 3, y, 9, -50, 50, role, 3);
        draw_arc(list, x + 3, y, 16, -50, 50, role, 3);
    }
    return 36.0;
}

/* Letters in the middle, on one line or, where it is too long, on two or more. */
static void draw_label(Ui *ui, const UiButton *button, const Face *face)
{
    bool is_bold = button->look != UI_PLAIN;
    int px = button->px != 0 ? button->px : button->box.h >= 79.0 ? 24 : 19;
    double icon_w = button->icon == UI_ICON_NONE ? 0.0 : 36.0;
    double room = button->box.w - 24.0 - icon_w;
    int most = draw_wrap(&ui->measure, button->label, room, ui_px(ui, px), is_bold, NULL, NULL);
    if (most * draw_line_height(ui_px(ui, px)) > button->box.h - 6.0) px = 16;
    double width = fmin(ui_width(ui, px, is_bold, button->label), room);
    double x = button->box.x + (button->box.w - width - icon_w) / 2.0;
    int lines = draw_wrap(&ui->measure, button->label, room, ui_px(ui, px), is_bold, NULL, NULL);
    double height = lines * draw_line_height(ui_px(ui, px));
    double middle = button->box.y + button->box.h / 2.0;
    (void)draw_icon(ui, button->icon, x, middle, face->letters);
    DrawRect box = {lines > 1 ? button->box.x + 12.0 + icon_w : x + icon_w, middle - height / 2.0,
                    lines > 1 ? room : width + 1.0, height};
    DrawRole ground = button->is_disabled ? DRAW_PAPER : face->fill;
    (void)ui_text(ui, box, px, is_bold, button->is_disabled ? DRAW_SOFT : face->letters, ground,
                  lines > 1 ? DRAW_MIDDLE : DRAW_START, button->label);
}

bool ui_button(Ui *ui, uint32_t id, const UiButton *button)
{
    DrawList *list = ui->list;
    Face face = face_of(ui, id, button);
    DrawRect box = button->box;
    if (button->is_disabled) {
        DrawRect inside = {box.x + 1, box.y + 1, box.w - 2, box.h - 2};
        draw_rect(list, inside, DRAW_PAPER, DRAW_NONE, 0, 6);
        draw_dashed_rect(list, inside, DRAW_LINE, 2, 8, 6);
    } else {
        DrawRect inside = {box.x + face.px / 2, box.y + face.px / 2, box.w - face.px,
                           box.h - face.px};
        draw_rect(list, inside, face.fill, face.edge, face.px, 6);
    }
    if (button->label != NULL) draw_label(ui, button, &face);
    if (button->is_disabled) return false;
    add_target(ui, id, box, button->look == UI_NEXT || button->look == UI_STOP ? 79 : 47);
    draw_focus(ui, id, box);
    return press(ui, id, box, button->key, button->typed);
}

/* --- The frame ------------------------------------------------------------------------------- */

/* Enlarged text needs a higher foot: its next action takes two lines. */
static double foot_height(const Ui *ui)
{
    return 98.0 + 0.66 * (ui->text_percent - 100);
}

double ui_foot_y(const Ui *ui)
{
    return ui->height - foot_height(ui);
}

double ui_head_y(const Ui *ui)
{
    return UI_HEAD + 0.735 * (ui->text_percent - 100);
}

void ui_header(Ui *ui, const char *title, const char *under)
{
    double width = ui->width * 0.66;
    double height = ui_text(ui, (DrawRect){UI_MARGIN, 10, width, 0}, 30, true, DRAW_INK, DRAW_PAPER,
                            DRAW_START, title);
    if (under[0] != '\0') {
        (void)ui_text(ui, (DrawRect){UI_MARGIN, 10 + height, width, 0}, 19, false, DRAW_SOFT,
                      DRAW_PAPER, DRAW_START, under);
    }
    DrawPoint rule[] = {{UI_MARGIN, ui_head_y(ui)}, {ui->width - UI_MARGIN, ui_head_y(ui)}};
    DrawPoint foot[] = {{UI_MARGIN, ui_foot_y(ui)}, {ui->width - UI_MARGIN, ui_foot_y(ui)}};
    draw_line(ui->list, rule, 2, DRAW_INK, 2);
    draw_line(ui->list, foot, 2, DRAW_INK, 2);
}

static bool draw_next(Ui *ui, const char *label, UiLook look)
{
    if (label == NULL) return false;
    double most = 520.0 + 1.2 * (ui->text_percent - 100);
    double width = fmax(320.0, fmin(ui_width(ui, 24, true, label) + 80.0, most));
    UiButton button = {
        .box = {ui->width - UI_MARGIN - width, ui_foot_y(ui) + 7.0, width, foot_height(ui) - 19.0},
        .label = label,
        .look = look,
        .px = 24};
    return ui_button(ui, ui_id("next", 0), &button);
}

bool ui_next(Ui *ui, const char *label)
{
    return draw_next(ui, label, UI_NEXT);
}

bool ui_next_plain(Ui *ui, const char *label)
{
    return draw_next(ui, label, UI_PLAIN);
}

DrawRect ui_foot_box(const Ui *ui, double x, double width)
{
    return (DrawRect){x, ui_foot_y(ui) + 27.0, width, foot_height(ui) - 39.0};
}

bool ui_back(Ui *ui, const char *label)
{
    UiButton button = {.box = ui_foot_box(ui, UI_MARGIN, 1.32 * ui->text_percent),
                       .label = label,
                       .look = UI_PLAIN,
                       .icon = UI_ICON_BACK,
                       .px = 19,
                       .key = UI_KEY_ESCAPE};
    return ui_button(ui, ui_id("back", 0), &button);
}
