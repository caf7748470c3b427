/* Drawing, in a picture: texts, the canvas in each window, its bounds; and the sounds. */
#include <SDL2/SDL.h>

#include "support.h"

#include "base/random.h"
#include "ui/sdl_draw.h"
#include "ui/tones.h"

static SdlDraw *picture_of(int width, int height, double *canvas_width, double *canvas_height)
{
    Err err = {0};
    SdlDraw *draw = NULL;
    if (!sdl_draw_new(NULL, &draw, &err)) fail_msg("%s", err.text);
    sdl_draw_fit(draw, width, height, canvas_width, canvas_height);
    return draw;
}

static void test_sdl_draw_fit_rows(void **state)
{
    static const struct {
        int width, height;
        double canvas_width, canvas_height, scale;
    } rows[] = {
        {1280, 800, 1280, 800, 1.0},       {1024, 600, 1365.333, 800, 0.75},
        {1920, 1080, 1422.222, 800, 1.35}, {3840, 2160, 1422.222, 800, 2.7},
        {1280, 1024, 1280, 1024, 1.0},     {800, 1280, 1280, 2048, 0.625},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double width;
        double height;
        SdlDraw *draw = picture_of(rows[i].width, rows[i].height, &width, &height);
        assert_within(width, rows[i].canvas_width, 0.001);
        assert_within(height, rows[i].canvas_height, 0.001);
        assert_within(sdl_draw_scale(draw), rows[i].scale, 1e-9);
        sdl_draw_free(draw);
    }
}

/* A text keeps its width on the canvas whatever the window: within the rounding of each letter. */
static void test_sdl_draw_measure_scales(void **state)
{
    static const char words[] = "Lay it on the middle, then send the pack";
    (void)state;
    double width;
    double height;
    SdlDraw *small = picture_of(1024, 600, &width, &height);
    SdlDraw *large = picture_of(3840, 2160, &width, &height);
    DrawMeasure a = sdl_draw_measure(small);
    DrawMeasure b = sdl_draw_measure(large);
    for (int px = 16; px <= 60; px += 11) {
        double narrow = a.width(a.context, words, sizeof words - 1, px, false);
        double wide = b.width(b.context, words, sizeof words - 1, px, false);
        assert_near(narrow, wide, 0.03);
        assert_true(b.width(b.context, words, sizeof words - 1, px, true) > wide);
        assert_true(narrow == a.width(a.context, words, sizeof words - 1, px, false));
        assert_true(b.width(b.context, words, 3, px, false) < wide / 8.0);
    }
    assert_true(a.width(a.context, words, 0, 16, false) == 0.0);
    sdl_draw_free(small);
    sdl_draw_free(large);
}

/* More lines and shapes than are kept, and one of every kind far outside: it draws on. */
static void test_sdl_draw_many(void **state)
{
    (void)state;
    double width;
    double height;
    SdlDraw *draw = picture_of(1280, 800, &width, &height);
    DrawList list = {0};
    for (int round = 0; round < 15; round++) {
        draw_begin(&list, width, height, DRAW_DARK);
        for (int i = 0; i < 400; i++) {
            char words[32];
            DrawStyle style = {{i, i, 400, 30}, 16 + i % 4, i % 2 == 0,
                               DRAW_INK,        DRAW_PAPER, DRAW_END};
            DrawPoint points[] = {{i, round}, {1200 - 3 * i, 700.3}, {round * 60, i}};
            (void)snprintf(words, sizeof words, "line %d of %d", i, round);
            draw_text(&list, &style, words);
            if (i % 100 == 0) draw_line(&list, points, 3, DRAW_LINE, 1 + i % 4);
        }
        DrawPoint far[] = {{-1e9, -1e9}, {1e9, 1e9}, {1e9, -4e8}};
        draw_polygon(&list, far, 3, DRAW_WASH, DRAW_INK, 2);
        draw_circle(&list, -1e7, 1e7, 1e6, DRAW_TINT, DRAW_INK, 2);
        draw_rect(&list, (DrawRect){1e9, 1e9, 1e9, 1e9}, DRAW_TINT, DRAW_INK, 2, 6);
        draw_rect(&list, (DrawRect){10, 10, 0.1, 0.1}, DRAW_TINT, DRAW_INK, 2, 6);
        sdl_draw_list(draw, &list);
    }
    draw_free(&list);
    sdl_draw_free(draw);
}

/* --- Only what differs ----------------------------------------------------------------------- */

enum { ITEMS = 40, STEPS = 60, WIDE = 640, HIGH = 400 };

/* One item of a made-up picture: what it is hangs on its number alone. */
static void add_item(DrawList *list, uint64_t number)
{
    static const DrawRole roles[] = {DRAW_SHEET, DRAW_TINT, DRAW_WASH, DRAW_ACCENT, DRAW_NONE};
    Random random;
    random_init(&random, number);
    double x = random_unit(&random) * 1500.0 - 100.0;
    double y = random_unit(&random) * 1000.0 - 100.0;
    double w = random_unit(&random) * 300.0;
    double px = 1.0 + (double)random_below(&random, 4);
    DrawRole role = roles[random_below(&random, 5)];
    DrawPoint points[] = {{x, y}, {x + w, y + random_unit(&random) * 200.0}, {x + w / 3.0, y - w}};
    char words[80];
    (void)snprintf(words, sizeof words, "Lay it there, %u jQ\nand so on", (unsigned)number);
    DrawStyle style = {.box = {x, y, w, 0},
                       .size_px = 16 + (int)random_below(&random, 14),
                       .is_bold = random_below(&random, 2) == 0,
                       .role = DRAW_INK,
                       .ground = DRAW_PAPER,
                       .align = (DrawAlign)random_below(&random, 3)};
    switch (random_below(&random, 6)) {
    case 0:
        draw_rect(list, (DrawRect){x, y, w, w / 2.0}, role, DRAW_INK, px, px * 3.0);
        break;
    case 1:
        draw_line(list, points, 3, DRAW_LINE, px);
        break;
    case 2:
        draw_polygon(list, points, 3, role, DRAW_INK, px);
        break;
    case 3:
        draw_circle(list, x, y, w / 3.0, role, DRAW_INK, px);
        break;
    case 4:
        draw_mark(list, (DrawMark)random_below(&random, 7), x, y, 12.0, DRAW_INK);
        break;
    default:
        draw_text(list, &style, words);
        break;
    }
}

/* A picture by the numbers of its items, which are taken out, put in and changed. */
typedef struct {
    Random random;
    uint64_t numbers[ITEMS];
    size_t count;
} Picture;

static void edit(Picture *picture)
{
    for (uint64_t edits = random_below(&picture->random, 5); edits > 0; edits--) {
        size_t at = (size_t)random_below(&picture->random, picture->count);
        uint64_t *here = &picture->numbers[at];
        uint64_t what = random_below(&picture->random, 3);
        if (what == 0 && picture->count > 4) {
            picture->count--;
            memmove(here, here + 1, (picture->count - at) * sizeof *here);
            continue;
        }
        if (what == 1 && picture->count < ITEMS) {
            memmove(here + 1, here, (picture->count - at) * sizeof *here);
            picture->count++;
        }
        *here = random_below(&picture->random, 100000);
    }
}

typedef struct {
    SdlDraw *draw;
    double width, height;
} Canvas;

static Canvas canvas_of(int width, int height)
{
    Canvas canvas;
    canvas.draw = picture_of(width, height, &canvas.width, &canvas.height);
    return canvas;
}

static const char *row_of(const Canvas *canvas, int y)
{
    const SDL_Surface *picture = sdl_draw_picture(canvas->draw);
    return (const char *)picture->pixels + (size_t)y * (size_t)picture->pitch;
}

static void want_same_pixels(const Canvas *a, const Canvas *b, uint64_t seed, int step)
{
    const SDL_Surface *picture = sdl_draw_picture(a->draw);
    for (int y = 0; y < picture->h; y++) {
        if (memcmp(row_of(a, y), row_of(b, y), (size_t)picture->w * 4) == 0) continue;
        fail_msg("seed %u, step %d, row %d differs", (unsigned)seed, step, y);
    }
}

/* One picture after the other, each drawn over the last one. */
static int play_pictures(uint64_t seed, const Canvas *over, const Canvas *whole)
{
    DrawList lists[2] = {{0}, {0}};
    Picture picture = {.count = ITEMS / 2};
    int drawn = 0;
    random_init(&picture.random, seed);
    for (size_t i = 0; i < picture.count; i++) {
        picture.numbers[i] = random_below(&picture.random, 100000);
    }
    for (int step = 0; step < STEPS; step++) {
        DrawList *list = &lists[step % 2];
        draw_begin(list, over->width, over->height, (DrawTheme)(step / 20));
        for (size_t i = 0; i < picture.count; i++) {
            add_item(list, picture.numbers[i]);
        }
        if (step == 0)
            sdl_draw_list(over->draw, list);
        else
            drawn += sdl_draw_next(over->draw, list, &lists[1 - step % 2]);
        sdl_draw_list(whole->draw, list);
        want_same_pixels(over, whole, seed, step);
        assert_false(sdl_draw_next(over->draw, list, list));
        edit(&picture);
    }
    draw_free(&lists[0]);
    draw_free(&lists[1]);
    return drawn;
}

/* The pixels are those of a picture drawn anew. */
static void test_sdl_draw_next_is_whole(void **state)
{
    static const double scales[] = {0.75, 1.0, 1.35};
    (void)state;
    for (uint64_t seed = 0; seed < 6; seed++) {
        double scale = scales[seed % 3];
        Canvas over = canvas_of((int)(WIDE * scale), (int)(HIGH * scale));
        Canvas whole = canvas_of((int)(WIDE * scale), (int)(HIGH * scale));
        assert_true(play_pictures(seed, &over, &whole) > STEPS / 2);
        sdl_draw_free(over.draw);
        sdl_draw_free(whole.draw);
    }
}

static uint32_t pixel_at(const Canvas *canvas, int x, int y)
{
    uint32_t pixel;
    memcpy(&pixel, row_of(canvas, y) + (size_t)x * 4, sizeof pixel);
    return pixel & 0xFFFFFFU;
}

/* Colours are the theme's; where a shape covers a part of a pixel, red, green and blue are each
 * that part of the way from what was there: the arithmetic of "over" with one coverage (Porter and
 * Duff, Computer Graphics 18 (1984) 253; from memory), within one step of rounding. */
static void test_sdl_draw_colours(void **state)
{
    (void)state;
    DrawList list = {0};
    Canvas canvas = canvas_of(1280, 800);
    const DrawColour under = draw_colour(DRAW_LIGHT, DRAW_PAPER);
    const DrawColour over = draw_colour(DRAW_LIGHT, DRAW_ACCENT);
    const DrawPoint slope[] = {{100, 100}, {140.5, 100}, {100, 140.5}};
    draw_begin(&list, canvas.width, canvas.height, DRAW_LIGHT);
    draw_rect(&list, (DrawRect){10, 10, 20, 20}, DRAW_ACCENT, DRAW_NONE, 0, 0);
    draw_polygon(&list, slope, 3, DRAW_ACCENT, DRAW_NONE, 0);
    sdl_draw_list(canvas.draw, &list);
    uint32_t full = (uint32_t)over.red << 16U | (uint32_t)over.green << 8U | over.blue;
    uint32_t bare = (uint32_t)under.red << 16U | (uint32_t)under.green << 8U | under.blue;
    assert_int_equal(pixel_at(&canvas, 9, 20), bare);
    assert_int_equal(pixel_at(&canvas, 10, 20), full);
    assert_int_equal(pixel_at(&canvas, 29, 29), full);
    assert_int_equal(pixel_at(&canvas, 30, 29), bare);
    assert_int_equal(pixel_at(&canvas, 110, 110), full);
    /* The edge x + y = 240.5 leaves a corner of an eighth of this pixel bare. */
    uint32_t cut = pixel_at(&canvas, 120, 119);
    assert_within((double)(cut >> 16U), (under.red + 7.0 * over.red) / 8.0, 1.5);
    assert_within((double)(cut >> 8U & 255U), (under.green + 7.0 * over.green) / 8.0, 1.5);
    assert_within((double)(cut & 255U), (under.blue + 7.0 * over.blue) / 8.0, 1.5);
    draw_free(&list);
    sdl_draw_free(canvas.draw);
}

static void test_sdl_draw_save_refused(void **state)
{
    (void)state;
    Err err = {0};
    double width;
    double height;
    SdlDraw *draw = picture_of(100, 100, &width, &height);
    assert_false(sdl_draw_save(draw, "/proc/no/such.png", &err));
    assert_int_equal(err.code, ERR_IO);
    assert_non_null(strstr(err.text, "/proc/no/such.png"));
    sdl_draw_free(draw);
}

/* --- Sounds ---------------------------------------------------------------------------------- */

/* The power at a frequency, by Goertzel's sum over `count` samples (Amer. Math. Monthly 65 (1958)
 * 34). */
static double power_at(const float *samples, size_t count, double hz)
{
    double turn = 2.0 * 3.14159265358979323846 * hz / TONES_RATE_HZ;
    double before = 0.0;
    double last = 0.0;
    for (size_t i = 0; i < count; i++) {
        double now = (double)samples[i] + 2.0 * cos(turn) * last - before;
        before = last;
        last = now;
    }
    return last * last + before * before - 2.0 * cos(turn) * last * before;
}

/* What is to be heard of each: the strongest of all whole frequencies is the one wanted. */
static void test_tones_make_pitches(void **state)
{
    static const struct {
        Sound sound;
        int from_ms, to_ms, hz, total_ms;
    } rows[] = {
        {SOUND_FOUND, 0, 200, 660, 460},   {SOUND_FOUND, 260, 460, 660, 460},
        {SOUND_STOP, 0, 180, 220, 360},    {SOUND_STOP, 180, 360, 165, 360},
        {SOUND_START, 0, 180, 165, 360},   {SOUND_START, 180, 360, 220, 360},
        {SOUND_WRITTEN, 0, 70, 440, 160},  {SOUND_WRITTEN, 70, 160, 587, 160},
        {SOUND_REFUSED, 0, 150, 196, 150},
    };
    static float samples[TONES_SAMPLES_MAX];
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        size_t per_ms = TONES_RATE_HZ / 1000;
        size_t from = (size_t)rows[i].from_ms * per_ms;
        size_t count = (size_t)rows[i].to_ms * per_ms - from;
        assert_int_equal(tones_make(rows[i].sound, samples), (size_t)rows[i].total_ms * per_ms);
        int loudest = 0;
        double most = 0.0;
        for (int hz = 50; hz < 3000; hz++) {
            double power = power_at(samples + from, count, hz);
            if (power > most) loudest = hz;
            most = fmax(most, power);
        }
        if (abs(loudest - rows[i].hz) > 2)
            fail_msg("row %zu: %d Hz, want %d", i, loudest, rows[i].hz);
        /* Ramps of 10 ms: the first and last samples are silent. */
        assert_within((double)samples[from], 0.0, 1e-6);
        assert_within((double)samples[from + count - 1], 0.0, 1e-6);
    }
}

static void test_tones_make_noise_is_low(void **state)
{
    static float samples[TONES_SAMPLES_MAX];
    (void)state;
    size_t count = tones_make(SOUND_BLOW, samples);
    double low = 0.0;
    double high = 0.0;
    assert_int_equal(count, 120 * TONES_RATE_HZ / 1000);
    for (int hz = 25; hz < 20000; hz += 25) {
        double power = power_at(samples, count, hz);
        if (hz < 2000)
            low += power;
        else
            high += power;
    }
    assert_true(low > 0.0);
    if (high > 0.1 * low) fail_msg("%.3g of the noise lies above 2 kHz", high / (high + low));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sdl_draw_fit_rows),  cmocka_unit_test(test_sdl_draw_measure_scales),
        cmocka_unit_test(test_sdl_draw_many),      cmocka_unit_test(test_sdl_draw_next_is_whole),
        cmocka_unit_test(test_sdl_draw_colours),   cmocka_unit_test(test_sdl_draw_save_refused),
        cmocka_unit_test(test_tones_make_pitches), cmocka_unit_test(test_tones_make_noise_is_low),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
