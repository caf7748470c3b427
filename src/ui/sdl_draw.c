/* The draw list in a picture in memory: snapped rectangles, and masks for all else. A window shows
 * copies of what changed in it. */
#include "ui/sdl_draw.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <SDL2/SDL.h>
#include <SDL2/SDL_ttf.h>

#include "base/os.h"
#include "ui/mask.h"

enum {
    FONTS_MAX = 16, /* open at a time: four sizes, two weights, twice */
    BUCKETS = 1024, /* of masks and widths ... */
    WAYS = 4,       /* ... four each */
    COVER_BYTES_MAX = 48 * 1024 * 1024,
    FONT_BYTES_MAX = 16 * 1024 * 1024,
    POINTS_MAX = 65536, /* of one shape */
    CANVAS_HEIGHT = 800,
    CANVAS_WIDTH = 1280,
    DPI = 72, /* at which a font's points are pixels */
};

/* Where distributions keep Noto Sans. */
static const char *const font_folders[] = {
    "/usr/share/fonts/truetype/noto", "/usr/share/fonts/noto", "/usr/share/fonts/google-noto",
    "/usr/share/fonts/noto-fonts", "/usr/local/share/fonts/noto"};
static const char *const font_files[2] = {"NotoSans-Regular.ttf", "NotoSans-Bold.ttf"};

typedef struct {
    TTF_Font *font; /* NULL: free */
    int size_px;
    bool is_bold;
    uint64_t used;
} Font;

/* Something drawn before, under all that makes it what it is but its colour. */
typedef struct {
    uint64_t hash;
    char *key; /* owned; NULL: free */
    size_t len;
    uint8_t *cover;    /* owned: of each pixel, 0 to 255, row after row; NULL: only measured */
    int width, height; /* pixels */
    uint64_t used;
} Entry;

struct SdlDraw {
    SDL_Window *window;   /* borrowed; NULL: a picture alone */
    SDL_Surface *surface; /* the picture, of 32 bits a pixel; NULL before the first fit */
    bool owns_surface;    /* else it is the window's own */
    bool owns_ttf;
    double scale;
    int width, height;  /* pixels */
    Text font_files[2]; /* their bytes: each size is opened from them */
    Font fonts[FONTS_MAX];
    Entry *entries;
    size_t cover_bytes;
    uint64_t clock; /* counts uses */
    Mask mask;
    Text key;
    DrawPoint *points; /* of the shape at hand, in pixels */
    size_t point_capacity;
    SDL_Rect *around; /* each item's pixels, of the list that is drawn over another */
    size_t around_capacity;
};

/* --- Beginning and end ----------------------------------------------------------------------- */

static TTF_Font *open_font(const SdlDraw *draw, bool is_bold, int size_px)
{
    const Text *file = &draw->font_files[is_bold];
    unsigned dpi = (unsigned)fmax(1.0, round(DPI * draw->scale));
    SDL_RWops *bytes = SDL_RWFromConstMem(file->bytes, (int)file->len);
    return bytes == NULL ? NULL : TTF_OpenFontDPIRW(bytes, 1, size_px, dpi, dpi);
}

static bool find_fonts(SdlDraw *draw, Err *err)
{
    for (size_t f = 0; f < 2; f++) {
        bool is_read = false;
        for (size_t i = 0; !is_read && i < sizeof font_folders / sizeof font_folders[0]; i++) {
            Text path = {0};
            Err not_there = {0};
            text_addf(&path, "%s/%s", font_folders[i], font_files[f]);
            is_read = os_file_read(path.bytes, FONT_BYTES_MAX, &draw->font_files[f], &not_there);
            text_clear(&path);
        }
        TTF_Font *font = is_read ? open_font(draw, f == 1, CANVAS_HEIGHT / 40) : NULL;
        if (font == NULL) {
            return err_set(err, ERR_IO,
                           "the font %s is not in %s or where else fonts are kept; on Debian it "
                           "comes with fonts-noto-core",
                           font_files[f], font_folders[0]);
        }
        TTF_CloseFont(font);
    }
    return true;
}

bool sdl_draw_new(struct SDL_Window *window, SdlDraw **out, Err *err)
{
    SdlDraw *draw = check_calloc(1, sizeof *draw);
    draw->window = window;
    draw->scale = 1.0;
    draw->entries = check_calloc((size_t)BUCKETS * WAYS, sizeof *draw->entries);
    draw->owns_ttf = TTF_Init() == 0;
    bool ok = draw->owns_ttf || err_set(err, ERR_IO, "no text can be drawn: %s", TTF_GetError());
    if (!ok || !find_fonts(draw, err)) {
        sdl_draw_free(draw);
        return false;
    }
    *out = draw;
    return true;
}

static void forget(SdlDraw *draw, Entry *entry)
{
    if (entry->cover != NULL) draw->cover_bytes -= (size_t)entry->width * (size_t)entry->height;
    free(entry->cover);
    free(entry->key);
    *entry = (Entry){0};
}

static void forget_all(SdlDraw *draw)
{
    for (size_t i = 0; draw->entries != NULL && i < (size_t)BUCKETS * WAYS; i++) {
        forget(draw, &draw->entries[i]);
    }
    for (int i = 0; i < FONTS_MAX; i++) {
        TTF_CloseFont(draw->fonts[i].font);
        draw->fonts[i] = (Font){0};
    }
}

void sdl_draw_free(SdlDraw *draw)
{
    if (draw == NULL) return;
    forget_all(draw);
    if (draw->owns_ttf) TTF_Quit();
    if (draw->owns_surface) SDL_FreeSurface(draw->surface);
    text_clear(&draw->font_files[0]);
    text_clear(&draw->font_files[1]);
    text_clear(&draw->key);
    mask_free(&draw->mask);
    free(draw->entries);
    free(draw->points);
    free(draw->around);
    free(draw);
}

/* A picture of that size: the window's own, where its pixels are as they are drawn here. */
static void begin_picture(SdlDraw *draw, int width, int height)
{
    SDL_Surface *screen = draw->window == NULL ? NULL : SDL_GetWindowSurface(draw->window);
    if (draw->owns_surface) SDL_FreeSurface(draw->surface);
    draw->owns_surface = screen == NULL || screen->w != width || screen->h != height ||
                         screen->format->format != SDL_PIXELFORMAT_RGB888;
    draw->surface = draw->owns_surface ? SDL_CreateRGBSurfaceWithFormat(0, width, height, 32,
                                                                        SDL_PIXELFORMAT_RGB888)
                                       : screen;
    CHECK(draw->surface != NULL); /* fails only without memory */
}

void sdl_draw_fit(SdlDraw *draw, int width, int height, double *canvas_width, double *canvas_height)
{
    CHECK(width >= 1 && width <= SDL_DRAW_SIDE_MAX && height >= 1 && height <= SDL_DRAW_SIDE_MAX);
    double across = (double)width / CANVAS_WIDTH;
    double down = (double)height / CANVAS_HEIGHT;
    double scale = fmin(across, down);
    if (scale != draw->scale) forget_all(draw);
    begin_picture(draw, width, height);
    draw->scale = scale;
    draw->width = width;
    draw->height = height;
    *canvas_width = down <= across ? width / scale : CANVAS_WIDTH;
    *canvas_height = down <= across ? CANVAS_HEIGHT : height / scale;
}

double sdl_draw_scale(const SdlDraw *draw)
{
    return draw->scale;
}

const struct SDL_Surface *sdl_draw_picture(const SdlDraw *draw)
{
    return draw->surface;
}

/* --- What was drawn before ------------------------------------------------------------------- */

/* The entry of the key at hand: as it was, or new, in place of the one in its bucket that was
 * not used for the longest time. */
static Entry *find_entry(SdlDraw *draw)
{
    uint64_t hash = UINT64_C(14695981039346656037); /* FNV-1a, 64 bits */
    for (size_t i = 0; i < draw->key.len; i++) {
        hash = (hash ^ (uint64_t)(unsigned char)draw->key.bytes[i]) * UINT64_C(1099511628211);
    }
    Entry *bucket = draw->entries + (hash % BUCKETS) * WAYS;
    Entry *oldest = bucket;
    draw->clock++;
    for (int i = 0; i < WAYS; i++) {
        Entry *entry = &bucket[i];
        if (entry->key != NULL && entry->hash == hash && entry->len == draw->key.len &&
            memcmp(entry->key, draw->key.bytes, entry->len) == 0) {
            entry->used = draw->clock;
            return entry;
        }
        if (entry->used < oldest->used) oldest = entry;
    }
    forget(draw, oldest);
    *oldest = (Entry){.hash = hash, .len = draw->key.len, .used = draw->clock};
    oldest->key = check_calloc(draw->key.len, 1);
    memcpy(oldest->key, draw->key.bytes, draw->key.len);
    return oldest;
}

static void key_begin(SdlDraw *draw, char kind)
{
    draw->key.len = 0;
    text_add_bytes(&draw->key, &kind, 1);
}

static void key_add(SdlDraw *draw, int number)
{
    text_add_bytes(&draw->key, (const char *)&number, sizeof number);
}

/* Room for the entry's coverage, which the caller fills in. When all of them together are too many
 * bytes, they begin anew. */
static Entry *make_room(SdlDraw *draw, Entry *entry, int width, int height)
{
    size_t bytes = (size_t)width * (size_t)height;
    if (draw->cover_bytes + bytes > COVER_BYTES_MAX) {
        for (size_t i = 0; i < (size_t)BUCKETS * WAYS; i++) {
            forget(draw, &draw->entries[i]);
        }
        entry = find_entry(draw);
    }
    entry->cover = check_calloc(bytes, 1);
    entry->width = width;
    entry->height = height;
    draw->cover_bytes += bytes;
    return entry;
}

/* Give the entry the coverage of the mask at hand. */
static Entry *keep_mask(SdlDraw *draw, Entry *entry)
{
    entry = make_room(draw, entry, draw->mask.width, draw->mask.height);
    mask_cover(&draw->mask, entry->cover);
    return entry;
}

static uint32_t *pixels_at(const SDL_Surface *surface, int x, int y)
{
    uint8_t *row = (uint8_t *)surface->pixels + (size_t)y * (size_t)surface->pitch;
    return (uint32_t *)(void *)row + x;
}

static uint32_t pixel_of(DrawColour colour)
{
    return (uint32_t)colour.red << 16U | (uint32_t)colour.green << 8U | colour.blue;
}

/* Of two colours the part that each has of the pixel; red and blue at once, as they are far enough
 * apart. */
static uint32_t blended(uint32_t under, uint32_t over, uint32_t cover)
{
    const uint32_t red_blue = 0xFF00FFU;
    const uint32_t green = 0x00FF00U;
    uint32_t part = cover + (cover >> 7U); /* of 256 */
    uint32_t rest = 256U - part;
    return (((under & red_blue) * rest + (over & red_blue) * part) >> 8U & red_blue) |
           (((under & green) * rest + (over & green) * part) >> 8U & green);
}

static void paint_row(uint32_t *to, const uint8_t *cover, int count, uint32_t colour)
{
    enum { BLOCK = 8 };
    for (int i = 0; i < count; i += BLOCK) {
        uint64_t block = 1;
        int end = count - i < BLOCK ? count : i + BLOCK;
        if (end - i == BLOCK) memcpy(&block, cover + i, BLOCK);
        if (block == 0) continue; /* a curve covers little of its box */
        for (int k = i; k < end; k++) {
            to[k] = cover[k] == 255 ? colour : blended(to[k], colour, cover[k]);
        }
    }
}

static void paint(SdlDraw *draw, const Entry *entry, int x, int y, DrawColour colour)
{
    SDL_Surface *surface = draw->surface;
    SDL_Rect box = {x, y, entry->width, entry->height};
    SDL_Rect part;
    if (!SDL_IntersectRect(&box, &surface->clip_rect, &part)) return;
    for (int row = part.y; row < part.y + part.h; row++) {
        const uint8_t *cover = entry->cover + (size_t)(row - y) * (size_t)entry->width;
        paint_row(pixels_at(surface, part.x, row), cover + (part.x - x), part.w, pixel_of(colour));
    }
}

/* --- Text ------------------------------------------------------------------------------------ */

static TTF_Font *font_of(SdlDraw *draw, int size_px, bool is_bold)
{
    Font *oldest = &draw->fonts[0];
    draw->clock++;
    for (int i = 0; i < FONTS_MAX; i++) {
        Font *font = &draw->fonts[i];
        if (font->font != NULL && font->size_px == size_px && font->is_bold == is_bold) {
            font->used = draw->clock;
            return font->font;
        }
        if (font->used < oldest->used) oldest = font;
    }
    TTF_CloseFont(oldest->font);
    *oldest = (Font){open_font(draw, is_bold, size_px), size_px, is_bold, draw->clock};
    if (oldest->font == NULL) return NULL; /* no memory for another size */
    TTF_SetFontHinting(oldest->font, TTF_HINTING_LIGHT_SUBPIXEL);
    /* All languages there are run from left to right in Latin letters; SDL2_ttf guesses neither. */
    (void)TTF_SetFontDirection(oldest->font, TTF_DIRECTION_LTR);
    (void)TTF_SetFontScriptName(oldest->font, "Latn");
    return oldest->font;
}

/* Noto Sans has no minus sign (U+2212), so an en dash (U+2013) is drawn, which is as long. */
static void add_words(SdlDraw *draw, const char *text, size_t len)
{
    static const char minus[] = "\xE2\x88\x92";
    static const char dash[] = "\xE2\x80\x93";
    size_t from = draw->key.len;
    text_add_bytes(&draw->key, text, len);
    for (size_t i = from; i + 3 <= draw->key.len; i++) {
        if (memcmp(draw->key.bytes + i, minus, 3) == 0) memcpy(draw->key.bytes + i, dash, 3);
    }
}

/* The entry of one line of text; its words end the key, with their NUL. */
static Entry *line_entry(SdlDraw *draw, const char *text, size_t len, int size_px, bool is_bold,
                         size_t *words_at)
{
    key_begin(draw, is_bold ? 'B' : 'R');
    key_add(draw, size_px);
    *words_at = draw->key.len;
    add_words(draw, text, len);
    text_add_bytes(&draw->key, "", 1);
    return find_entry(draw);
}

static double width_of(void *context, const char *text, size_t len, int size_px, bool is_bold)
{
    SdlDraw *draw = context;
    size_t words_at;
    if (len == 0) return 0.0;
    Entry *entry = line_entry(draw, text, len, size_px, is_bold, &words_at);
    if (entry->width == 0) {
        TTF_Font *font = font_of(draw, size_px, is_bold);
        if (font != NULL) {
            (void)TTF_SizeUTF8(font, entry->key + words_at, &entry->width, &entry->height);
        }
    }
    return entry->width / draw->scale;
}

DrawMeasure sdl_draw_measure(SdlDraw *draw)
{
    return (DrawMeasure){width_of, draw};
}

typedef struct {
    SdlDraw *draw;
    const DrawItem *item;
    DrawColour colour;
} Paragraph;

/* SDL2_ttf's "shaded" text is a byte a pixel: 0 for the ground, 255 for the letters. */
static Entry *render_line(SdlDraw *draw, Entry *entry, TTF_Font *font, size_t words_at)
{
    const SDL_Color black = {0, 0, 0, 255};
    const SDL_Color white = {255, 255, 255, 255};
    SDL_Surface *surface = TTF_RenderUTF8_Shaded(font, entry->key + words_at, white, black);
    if (surface == NULL) return entry; /* only marks without width */
    entry = make_room(draw, entry, surface->w, surface->h);
    for (int y = 0; y < surface->h; y++) {
        memcpy(entry->cover + (size_t)y * (size_t)surface->w,
               (const uint8_t *)surface->pixels + (size_t)y * (size_t)surface->pitch,
               (size_t)surface->w);
    }
    SDL_FreeSurface(surface);
    return entry;
}

static void draw_one_line(void *context, const char *text, size_t len, int index)
{
    const Paragraph *paragraph = context;
    SdlDraw *draw = paragraph->draw;
    const DrawItem *item = paragraph->item;
    size_t words_at;
    if (len == 0) return;
    Entry *entry = line_entry(draw, text, len, item->size_px, item->is_bold, &words_at);
    if (entry->cover == NULL) {
        TTF_Font *font = font_of(draw, item->size_px, item->is_bold);
        if (font != NULL) entry = render_line(draw, entry, font, words_at);
        if (entry->cover == NULL) return;
    }
    double height = draw_line_height(item->size_px) * draw->scale;
    double room = item->box.w * draw->scale - entry->width;
    double shift = item->align == DRAW_START ? 0.0 : item->align == DRAW_MIDDLE ? 0.5 : 1.0;
    int x = (int)lround(item->box.x * draw->scale + room * shift);
    double top = item->box.y * draw->scale + height * index;
    paint(draw, entry, x, (int)lround(top + (height - entry->height) / 2.0), paragraph->colour);
}

static void draw_paragraph(SdlDraw *draw, const DrawList *list, const DrawItem *item)
{
    Paragraph paragraph = {draw, item, draw_colour(list->theme, item->stroke)};
    DrawMeasure measure = sdl_draw_measure(draw);
    (void)draw_wrap(&measure, draw_words(list, item), item->box.w, item->size_px, item->is_bold,
                    draw_one_line, &paragraph);
}

/* --- Rectangles ------------------------------------------------------------------------------ */

/* Canvas to pixels; far outside is as good as anywhere outside. */
static int pixel(const SdlDraw *draw, double canvas)
{
    return (int)lround(fmin(fmax(canvas * draw->scale, -100000.0), 100000.0));
}

/* A stroke is never under one pixel, and whole. */
static int stroke_pixels(const SdlDraw *draw, const DrawItem *item)
{
    if (item->stroke == DRAW_NONE || item->stroke_px <= 0.0) return 0;
    int px = pixel(draw, item->stroke_px);
    return px < 1 ? 1 : px;
}

/* One row, then copies of it: up to fifty times as fast as SDL_FillRect, which goes past the
 * processor's cache. */
static void fill(SdlDraw *draw, SDL_Rect box, DrawColour colour)
{
    SDL_Rect part;
    if (!SDL_IntersectRect(&box, &draw->surface->clip_rect, &part)) return;
    uint32_t *first = pixels_at(draw->surface, part.x, part.y);
    for (int x = 0; x < part.w; x++) {
        first[x] = pixel_of(colour);
    }
    for (int y = part.y + 1; y < part.y + part.h; y++) {
        memcpy(pixels_at(draw->surface, part.x, y), first, (size_t)part.w * sizeof *first);
    }
}

/* The quarter of a disc, or of a ring `px` wide, that is a corner: 0 upper left, then clockwise. */
static void draw_corner(SdlDraw *draw, SDL_Rect box, int corner, int radius, int px,
                        DrawColour colour)
{
    bool is_right = corner == 1 || corner == 2;
    bool is_low = corner >= 2;
    key_begin(draw, 'q');
    key_add(draw, corner);
    key_add(draw, radius);
    key_add(draw, px);
    Entry *entry = find_entry(draw);
    if (entry->cover == NULL) {
        DrawPoint centre = {is_right ? 0.0 : radius, is_low ? 0.0 : radius};
        mask_begin(&draw->mask, radius, radius);
        mask_add_circle(&draw->mask, centre, radius, false);
        if (px > 0) mask_add_circle(&draw->mask, centre, radius - px, true);
        entry = keep_mask(draw, entry);
    }
    paint(draw, entry, is_right ? box.x + box.w - radius : box.x,
          is_low ? box.y + box.h - radius : box.y, colour);
}

static void fill_rounded(SdlDraw *draw, SDL_Rect box, int radius, DrawColour colour)
{
    fill(draw, (SDL_Rect){box.x + radius, box.y, box.w - 2 * radius, box.h}, colour);
    fill(draw, (SDL_Rect){box.x, box.y + radius, radius, box.h - 2 * radius}, colour);
    fill(draw, (SDL_Rect){box.x + box.w - radius, box.y + radius, radius, box.h - 2 * radius},
         colour);
    for (int corner = 0; radius > 0 && corner < 4; corner++) {
        draw_corner(draw, box, corner, radius, 0, colour);
    }
}

static void outline_rounded(SdlDraw *draw, SDL_Rect box, int radius, int px, DrawColour colour)
{
    int edge = radius > px ? radius : px;
    fill(draw, (SDL_Rect){box.x + radius, box.y, box.w - 2 * radius, px}, colour);
    fill(draw, (SDL_Rect){box.x + radius, box.y + box.h - px, box.w - 2 * radius, px}, colour);
    fill(draw, (SDL_Rect){box.x, box.y + edge, px, box.h - 2 * edge}, colour);
    fill(draw, (SDL_Rect){box.x + box.w - px, box.y + edge, px, box.h - 2 * edge}, colour);
    for (int corner = 0; radius > 0 && corner < 4; corner++) {
        draw_corner(draw, box, corner, radius, px, colour);
    }
}

static void draw_box(SdlDraw *draw, const DrawList *list, const DrawItem *item)
{
    int px = stroke_pixels(draw, item);
    double half = px > 0 ? item->stroke_px / 2.0 : 0.0;
    SDL_Rect box = {pixel(draw, item->box.x - half), pixel(draw, item->box.y - half), 0, 0};
    box.w = pixel(draw, item->box.x + item->box.w + half) - box.x;
    box.h = pixel(draw, item->box.y + item->box.h + half) - box.y;
    if (item->box.w > 0.0 && box.w < 1) box.w = 1;
    if (item->box.h > 0.0 && box.h < 1) box.h = 1;
    int least = box.w < box.h ? box.w : box.h;
    int radius = item->radius_px > 0.0 ? pixel(draw, item->radius_px + half) : 0;
    if (radius > least / 2) radius = least / 2;
    if (item->fill != DRAW_NONE) {
        /* The ground ends under the outline's middle, so that nothing of it shows outside. */
        int in = px / 2;
        SDL_Rect ground = {box.x + in, box.y + in, box.w - 2 * in, box.h - 2 * in};
        fill_rounded(draw, ground, radius > in ? radius - in : 0,
                     draw_colour(list->theme, item->fill));
    }
    if (px > 0) outline_rounded(draw, box, radius, px, draw_colour(list->theme, item->stroke));
}

/* --- Circles and shapes ---------------------------------------------------------------------- */

static void draw_disc(SdlDraw *draw, int x, int y, int diameter, int px, DrawColour colour)
{
    if (diameter <= 0 || diameter > SDL_DRAW_SIDE_MAX) return;
    key_begin(draw, 'o');
    key_add(draw, diameter);
    key_add(draw, px);
    Entry *entry = find_entry(draw);
    if (entry->cover == NULL) {
        DrawPoint centre = {diameter / 2.0, diameter / 2.0};
        mask_begin(&draw->mask, diameter, diameter);
        mask_add_circle(&draw->mask, centre, diameter / 2.0, false);
        if (px > 0) mask_add_circle(&draw->mask, centre, diameter / 2.0 - px, true);
        entry = keep_mask(draw, entry);
    }
    paint(draw, entry, x, y, colour);
}

static void draw_round(SdlDraw *draw, const DrawList *list, const DrawItem *item)
{
    int px = stroke_pixels(draw, item);
    double half = px > 0 ? item->stroke_px / 2.0 : 0.0;
    int x = pixel(draw, item->box.x - half);
    int y = pixel(draw, item->box.y - half);
    int diameter = pixel(draw, item->box.w + 2.0 * half);
    int in = px / 2;
    if (item->fill != DRAW_NONE) {
        draw_disc(draw, x + in, y + in, diameter - 2 * in, 0, draw_colour(list->theme, item->fill));
    }
    if (px > 0) draw_disc(draw, x, y, diameter, px, draw_colour(list->theme, item->stroke));
}

/* Where a line `px` wide must run to cover whole pixels: on their edges, or on their middles. */
static double snapped(double at, int px)
{
    return px % 2 == 0 ? round(at) : floor(at) + 0.5;
}

/* The shape's points in pixels; ends of level and upright lines are moved onto whole pixels. */
static void place_points(SdlDraw *draw, const DrawList *list, const DrawItem *item, int px)
{
    const DrawPoint *from = list->points + item->first;
    size_t count = item->count;
    if (count > draw->point_capacity) {
        draw->points = check_realloc(draw->points, count, sizeof *draw->points);
        draw->point_capacity = count;
    }
    for (size_t i = 0; i < count; i++) {
        const DrawPoint *at = &from[i];
        const DrawPoint *next = i + 1 < count || item->is_closed ? &from[(i + 1) % count] : NULL;
        const DrawPoint *last = i > 0 || item->is_closed ? &from[(i + count - 1) % count] : NULL;
        bool upright = (next != NULL && next->x == at->x) || (last != NULL && last->x == at->x);
        bool level = (next != NULL && next->y == at->y) || (last != NULL && last->y == at->y);
        double x = fmin(fmax(at->x * draw->scale, -100000.0), 100000.0);
        double y = fmin(fmax(at->y * draw->scale, -100000.0), 100000.0);
        draw->points[i].x = upright ? snapped(x, px) : x;
        draw->points[i].y = level ? snapped(y, px) : y;
    }
}

/* The pixels that a shape may touch, inside the window; false when there are none. */
static bool bounds_of(const SdlDraw *draw, size_t count, int px, SDL_Rect *out)
{
    double reach = px + 1.0; /* a mitre reaches at most as far as the stroke is wide */
    double left = draw->width;
    double top = draw->height;
    double right = 0.0;
    double bottom = 0.0;
    for (size_t i = 0; i < count; i++) {
        left = fmin(left, draw->points[i].x - reach);
        right = fmax(right, draw->points[i].x + reach);
        top = fmin(top, draw->points[i].y - reach);
        bottom = fmax(bottom, draw->points[i].y + reach);
    }
    *out = (SDL_Rect){(int)floor(fmax(left, 0.0)), (int)floor(fmax(top, 0.0)), 0, 0};
    out->w = (int)ceil(fmin(right, draw->width)) - out->x;
    out->h = (int)ceil(fmin(bottom, draw->height)) - out->y;
    return out->w > 0 && out->h > 0;
}

/* Fill (px 0) or stroke the points at hand. */
static void draw_points(SdlDraw *draw, size_t count, bool is_closed, int px, DrawColour colour)
{
    enum { PARTS = 32 }; /* of a pixel that a place is told apart by */
    SDL_Rect box;
    if (!bounds_of(draw, count, px, &box)) return;
    key_begin(draw, is_closed ? 'c' : 'l');
    key_add(draw, px);
    key_add(draw, box.w);
    key_add(draw, box.h);
    for (size_t i = 0; i < count; i++) {
        DrawPoint *point = &draw->points[i];
        int x = (int)lround((point->x - box.x) * PARTS);
        int y = (int)lround((point->y - box.y) * PARTS);
        /* Drawn as it is known, so that who comes first makes no difference to who comes after. */
        *point = (DrawPoint){(double)x / PARTS, (double)y / PARTS};
        key_add(draw, x);
        key_add(draw, y);
    }
    Entry *entry = find_entry(draw);
    if (entry->cover == NULL) {
        mask_begin(&draw->mask, box.w, box.h);
        if (px == 0)
            mask_add_outline(&draw->mask, draw->points, count);
        else
            mask_add_stroke(&draw->mask, draw->points, count, is_closed, px);
        entry = keep_mask(draw, entry);
    }
    paint(draw, entry, box.x, box.y, colour);
}

/* A level or upright line of two points is a rectangle. */
static bool draw_straight(SdlDraw *draw, const DrawItem *item, int px, DrawColour colour)
{
    if (item->count != 2 || item->is_closed) return false;
    DrawPoint a = draw->points[0];
    DrawPoint b = draw->points[1];
    if (a.x != b.x && a.y != b.y) return false;
    int left = (int)lround(fmin(a.x, b.x) - (a.x == b.x ? px / 2.0 : 0.0));
    int top = (int)lround(fmin(a.y, b.y) - (a.y == b.y ? px / 2.0 : 0.0));
    int length = (int)lround(fmax(fabs(a.x - b.x), fabs(a.y - b.y)));
    SDL_Rect box = {left, top, a.x == b.x ? px : length, a.x == b.x ? length : px};
    fill(draw, box, colour);
    return true;
}

static void draw_shape(SdlDraw *draw, const DrawList *list, const DrawItem *item)
{
    int px = stroke_pixels(draw, item);
    if (item->count > POINTS_MAX) return;
    if (item->fill != DRAW_NONE && item->count > 2) {
        place_points(draw, list, item, px);
        draw_points(draw, item->count, true, 0, draw_colour(list->theme, item->fill));
    }
    if (px == 0) return;
    DrawColour colour = draw_colour(list->theme, item->stroke);
    place_points(draw, list, item, px);
    if (draw_straight(draw, item, px, colour)) return;
    draw_points(draw, item->count, item->is_closed, px, colour);
}

/* --- The list -------------------------------------------------------------------------------- */

static void draw_item(SdlDraw *draw, const DrawList *list, const DrawItem *item)
{
    switch (item->kind) {
    case DRAW_ITEM_RECT:
        draw_box(draw, list, item);
        break;
    case DRAW_ITEM_SHAPE:
        draw_shape(draw, list, item);
        break;
    case DRAW_ITEM_CIRCLE:
        draw_round(draw, list, item);
        break;
    case DRAW_ITEM_TEXT:
        draw_paragraph(draw, list, item);
        break;
    }
}

/* Bring these parts of the picture to the screen. */
static void show(SdlDraw *draw, SDL_Rect *parts, int count)
{
    if (draw->window == NULL) return;
    SDL_Surface *screen = draw->owns_surface ? SDL_GetWindowSurface(draw->window) : NULL;
    for (int i = 0; screen != NULL && i < count; i++) {
        SDL_Rect to = parts[i];
        (void)SDL_BlitSurface(draw->surface, &parts[i], screen, &to);
    }
    /* Fails for a window that has just got another size: it is drawn again for that. */
    (void)SDL_UpdateWindowSurfaceRects(draw->window, parts, count);
}

void sdl_draw_list(SdlDraw *draw, const DrawList *list)
{
    CHECK(draw->surface != NULL);
    SDL_Rect all = {0, 0, draw->width, draw->height};
    for (size_t i = 0; i < list->item_count; i++) {
        draw_item(draw, list, &list->items[i]);
    }
    show(draw, &all, 1);
}

/* Whole pixels around a box of the canvas, inside the window. */
static SDL_Rect pixels_around(const SdlDraw *draw, DrawRect box)
{
    SDL_Rect all = {0, 0, draw->width, draw->height};
    SDL_Rect out = {pixel(draw, box.x) - 2, pixel(draw, box.y) - 2, 0, 0};
    out.w = pixel(draw, box.x + box.w) + 2 - out.x;
    out.h = pixel(draw, box.y + box.h) + 2 - out.y;
    return SDL_IntersectRect(&out, &all, &out) ? out : (SDL_Rect){0};
}

/* What each item of the list may touch, once a picture. */
static void find_around(SdlDraw *draw, const DrawList *list, const DrawMeasure *measure)
{
    if (list->item_count > draw->around_capacity) {
        draw->around = check_realloc(draw->around, list->item_count, sizeof *draw->around);
        draw->around_capacity = list->item_count;
    }
    for (size_t i = 0; i < list->item_count; i++) {
        draw->around[i] = pixels_around(draw, draw_bounds(list, &list->items[i], measure));
    }
}

bool sdl_draw_next(SdlDraw *draw, const DrawList *list, const DrawList *shown)
{
    DrawRect changes[DRAW_CHANGES_MAX];
    SDL_Rect parts[DRAW_CHANGES_MAX];
    DrawMeasure measure = sdl_draw_measure(draw);
    int count = draw_changes(shown, list, &measure, changes);
    int part_count = 0;
    if (count == 0) return false;
    find_around(draw, list, &measure);
    for (int c = 0; c < count; c++) {
        SDL_Rect part = pixels_around(draw, changes[c]);
        if (part.w == 0 || part.h == 0) continue;
        parts[part_count++] = part;
        (void)SDL_SetClipRect(draw->surface, &part);
        for (size_t i = 0; i < list->item_count; i++) {
            if (SDL_HasIntersection(&draw->around[i], &part)) {
                draw_item(draw, list, &list->items[i]);
            }
        }
    }
    (void)SDL_SetClipRect(draw->surface, NULL);
    show(draw, parts, part_count);
    return true;
}

/* SDL2_image brings libraries for formats that are not used here, which would be loaded at each
 * start: it is loaded when a picture is kept. */
bool sdl_draw_save(const SdlDraw *draw, const char *path, Err *err)
{
    CHECK(draw->surface != NULL);
    void *image = SDL_LoadObject("libSDL2_image-2.0.so.0");
    union {
        void *loaded;
        int (*save)(SDL_Surface *, const char *);
    } png = {image == NULL ? NULL : SDL_LoadFunction(image, "IMG_SavePNG")};
    bool ok = png.loaded != NULL && png.save(draw->surface, path) == 0;
    if (!ok) {
        (void)err_set(err, ERR_IO, "%s: cannot write the picture: %s", path, SDL_GetError());
    }
    SDL_UnloadObject(image);
    return ok;
}
