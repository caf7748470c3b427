/* Widgets and the frame of a place: one pass over the picture, with at most one event of the
 * person.
 *
 * A place is a function that draws itself through this and does what its widgets say. It is called
 * for each event, and once more without one to draw what came of it. Widgets have ids made of a
 * name and an index, never of an address. Every widget works by pointer, touch and key. A press
 * acts on release; who slides off cancels.
 */
#ifndef UI_UI_H
#define UI_UI_H

#include "app/texts.h"
#include "ui/draw.h"

typedef enum {
    UI_NOTHING,
    UI_DOWN, /* a pointer or a finger */
    UI_MOVE,
    UI_UP,
    UI_KEY,
    UI_TYPED, /* text from the keyboard or a badge reader */
} UiEventKind;

typedef enum {
    UI_KEY_OTHER,
    UI_KEY_TAB,
    UI_KEY_BACK_TAB,
    UI_KEY_ENTER,
    UI_KEY_SPACE,
    UI_KEY_ESCAPE,
    UI_KEY_LEFT,
    UI_KEY_RIGHT,
    UI_KEY_UP,
    UI_KEY_DOWN,
    UI_KEY_BACKSPACE,
    UI_KEY_HOME,
    UI_KEY_END,
    UI_KEY_PAGE_UP,
    UI_KEY_PAGE_DOWN,
} UiKey;

typedef struct {
    UiEventKind kind;
    double x, y; /* canvas pixels */
    UiKey key;
    char text[32]; /* of UI_TYPED, UTF-8 */
} UiEvent;

enum { UI_FOCUS_MAX = 256 };

/* What the widgets remember between frames; all zeros at first. It matters to no run. */
typedef struct {
    uint32_t focus;      /* the widget that keys go to; 0: none */
    uint32_t pressed;    /* the widget a pointer went down on; 0: none */
    bool focus_is_shown; /* keys were used last, not a pointer */
    double pointer_x, pointer_y;
    double down_x, down_y;        /* where the pointer went down last */
    uint32_t order[UI_FOCUS_MAX]; /* the last frame's widgets, in their order */
    int order_count;
} UiMemory;

typedef struct {
    DrawList *list;
    DrawMeasure measure;
    const Texts *texts;
    const char *language; /* BCP 47, of the texts and of scenarios */
    UiMemory *memory;
    const UiEvent *event;
    bool is_used;     /* the event has found its widget */
    int text_percent; /* 100 to 200 */
    double width, height;
    uint32_t order[UI_FOCUS_MAX];
    int order_count;
} Ui;

/* Begin and end a pass over a canvas; the list is emptied. */
void ui_begin(Ui *ui, DrawTheme theme);
void ui_end(Ui *ui);

/* An id of a name and an index. */
uint32_t ui_id(const char *name, int index);

/* A text of the program, "ui" section of the texts; the key itself where there is none. */
const char *ui_say(const Ui *ui, const char *key);

/* Append that text with `value` in the place of its "{}". */
void ui_fill(const Ui *ui, const char *key, const char *value, Text *out);

/* Text sizes in use: `px` of 16, 19, 24, 30 at the person's percentage. */
int ui_px(const Ui *ui, int px);

/* A paragraph; returns the height it takes. */
double ui_text(Ui *ui, DrawRect box, int px, bool is_bold, DrawRole role, DrawRole ground,
               DrawAlign align, const char *words);

/* The width of one line. */
double ui_width(const Ui *ui, int px, bool is_bold, const char *words);

typedef enum { UI_PLAIN, UI_NEXT, UI_STOP, UI_CHOSEN } UiLook;
typedef enum { UI_ICON_NONE, UI_ICON_BACK, UI_ICON_LISTEN, UI_ICON_STOP } UiIcon;

typedef struct {
    DrawRect box;
    const char *label; /* may be NULL: the place draws the face itself */
    UiLook look;
    UiIcon icon;
    bool is_disabled;
    UiKey key;  /* also pressed by this key; UI_KEY_OTHER: none */
    char typed; /* also pressed by this character; 0: none */
    int px;     /* letters: 19 or 24; 0: by the height */
} UiButton;

/* A button; true when it was pressed in this pass. */
bool ui_button(Ui *ui, uint32_t id, const UiButton *button);

/* An area that is pressed like a button but draws nothing itself but its focus. */
bool ui_area(Ui *ui, uint32_t id, DrawRect box, double least_px);

/* True while a pointer is held down on the widget; then *x, *y are where it is. */
bool ui_is_dragged(const Ui *ui, uint32_t id, double *x, double *y);

/* True when the widget has the focus and this key came; it is then used. */
bool ui_key(Ui *ui, uint32_t id, UiKey key);

/* --- The frame that every place has
 * ------------------------------------------------------------- */

enum {
    UI_MARGIN = 24,
    UI_GAP = 12,
    UI_HEAD = 96,  /* the header's height */
    UI_FOOT = 702, /* the foot rule, on a canvas 800 high; ui_foot_y gives it for any */
};

/* Where the foot's rule lies on this canvas. */
double ui_foot_y(const Ui *ui);

/* The header's rule: UI_HEAD, and lower where the text is enlarged. */
double ui_head_y(const Ui *ui);

/* The box of a button in the foot beside the way back, which ends at UI_MARGIN and 1.32 pixels for
 * each per cent of the text's size. */
DrawRect ui_foot_box(const Ui *ui, double x, double width);

/* Header: title and a line under it; and the rule. */
void ui_header(Ui *ui, const char *title, const char *under);

/* The next action, always at the same spot; true when pressed. NULL label: none is drawn. */
bool ui_next(Ui *ui, const char *label);
/* The same without the accent: it can be done, but something else may come first. */
bool ui_next_plain(Ui *ui, const char *label);

/* The way back, always at the same spot, also on Escape. */
bool ui_back(Ui *ui, const char *label);

#endif
