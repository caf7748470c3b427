/* The draw list: contrast against published ratios, lines of text, the list as text; and masks of
 * coverage against areas that geometry gives. */
#include "support.h"
#include "ui/draw.h"
#include "ui/mask.h"

static DrawColour colour_of(const char *text)
{
    unsigned long value = strtoul(text, NULL, 16);
    return (DrawColour){(uint8_t)(value >> 16U), (uint8_t)(value >> 8U), (uint8_t)value};
}

/* Rows marked published were seen on public pages about WCAG; the others were computed apart. */
static void test_draw_contrast_table(void **state)
{
    (void)state;
    Csv csv = csv_load("tests/data/contrast.csv");
    for (size_t i = 0; i < csv.rows; i++) {
        DrawColour a = colour_of(csv_text(&csv, i, "colour_a"));
        DrawColour b = colour_of(csv_text(&csv, i, "colour_b"));
        const char *name = csv_text(&csv, i, "colour_a");
        assert_near_named(name, draw_contrast(a, b), csv_number(&csv, i, "ratio"), 1e-9);
        assert_near_named(name, draw_contrast(b, a), csv_number(&csv, i, "ratio"), 1e-9);
        double published = csv_number(&csv, i, "published");
        if (!isnan(published)) assert_within(draw_contrast(a, b), published, 0.01);
    }
    csv_free(&csv);
}

/* WCAG 2.2: text 7:1 (1.4.6), shapes 3:1 (1.4.11), in every theme, for every pair in use. */
static void test_draw_pair_allowed_contrast(void **state)
{
    (void)state;
    int allowed = 0;
    for (int i = 0; i < (int)DRAW_THEME_COUNT * DRAW_ROLE_COUNT * DRAW_ROLE_COUNT * 2; i++) {
        bool is_text = i % 2 == 1;
        DrawRole role = (DrawRole)(i / 2 % DRAW_ROLE_COUNT);
        DrawRole ground = (DrawRole)(i / 2 / DRAW_ROLE_COUNT % DRAW_ROLE_COUNT);
        DrawTheme theme = (DrawTheme)(i / 2 / DRAW_ROLE_COUNT / DRAW_ROLE_COUNT);
        if (!draw_pair_allowed(role, ground, is_text)) continue;
        double contrast = draw_contrast(draw_colour(theme, role), draw_colour(theme, ground));
        if (contrast < (is_text ? 7.0 : 3.0)) {
            fail_msg("%s: role %d on %d has contrast %.2f", draw_theme_words[theme], role, ground,
                     contrast);
        }
        allowed++;
    }
    assert_true(allowed > 0);
}

/* --- Lines ----------------------------------------------------------------------------------- */

/* Every byte is 10 wide. */
static double ten(void *context, const char *text, size_t len, int size_px, bool is_bold)
{
    (void)context;
    (void)text;
    (void)size_px;
    (void)is_bold;
    return 10.0 * (double)len;
}

static void add_line(void *context, const char *text, size_t len, int index)
{
    Text *out = context;
    text_addf(out, "%d[", index);
    text_add_bytes(out, text, len);
    text_add(out, "]");
}

static void test_draw_wrap_rows(void **state)
{
    static const struct {
        const char *words;
        double width;
        const char *want;
    } rows[] = {
        {"", 100, ""},
        {"one", 100, "0[one]"},
        {"one two", 70, "0[one two]"},
        {"one two", 69, "0[one]1[two]"},
        {"one two three", 75, "0[one two]1[three]"},
        {"a considerable word", 50, "0[a]1[considerable]2[word]"},
        {"one\ntwo", 100, "0[one]1[two]"},
        {"one\n\ntwo", 100, "0[one]1[]2[two]"},
        {"one   two", 50, "0[one]1[two]"},
        {"4\xC2\xA0"
         "747 packs",
         70,
         "0[4\xC2\xA0"
         "747]1[packs]"},
    };
    (void)state;
    DrawMeasure measure = {ten, NULL};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Text out = {0};
        int count = draw_wrap(&measure, rows[i].words, rows[i].width, 16, false, add_line, &out);
        if (strcmp(text_string(&out), rows[i].want) != 0) {
            fail_msg("\"%s\" in %g: %s, want %s", rows[i].words, rows[i].width, text_string(&out),
                     rows[i].want);
        }
        assert_int_equal(count,
                         draw_wrap(&measure, rows[i].words, rows[i].width, 16, false, NULL, NULL));
        text_clear(&out);
    }
}

static void test_draw_print_every_kind(void **state)
{
    (void)state;
    DrawList list = {0};
    Text out = {0};
    DrawPoint points[] = {{1, 2}, {3.25, 4}, {5, 6}};
    DrawStyle style = {{7, 8, 90, 30}, 19, true, DRAW_INK, DRAW_SHEET, DRAW_MIDDLE};
    draw_begin(&list, 1280, 800, DRAW_CONTRAST);
    draw_rect(&list, (DrawRect){10, 20, 30, 40}, DRAW_SHEET, DRAW_INK, 2, 6);
    draw_line(&list, points, 3, DRAW_ACCENT, 3);
    draw_polygon(&list, points, 3, DRAW_TINT, DRAW_NONE, 0);
    draw_circle(&list, 50, 60, 10, DRAW_NONE, DRAW_LINE, 1);
    draw_text(&list, &style, "say \"this\"");
    draw_print(&list, &out);
    /* In the contrast theme each stroke is 1 px heavier. */
    assert_string_equal(text_string(&out), "rect paper none 1.0 0.0 0.0 1280.0 800.0\n"
                                           "rect sheet ink 3.0 10.0 20.0 30.0 40.0\n"
                                           "shape none accent 4.0 1.0,2.0 3.2,4.0 5.0,6.0\n"
                                           "shape tint none 1.0 1.0,2.0 3.2,4.0 5.0,6.0\n"
                                           "circle none line 2.0 40.0 50.0 20.0 20.0\n"
                                           "text sheet ink 0.0 7.0 8.0 90.0 30.0 19b 1 "
                                           "\"say \\\"this\\\"\"\n");
    text_clear(&out);
    draw_free(&list);
}

/* --- Masks ----------------------------------------------------------------------------------- */

enum { SIDE = 64 };

/* The covered area in pixels. */
static double area_of(const Mask *mask)
{
    static uint8_t cover[SIDE * SIDE];
    double sum = 0.0;
    mask_cover(mask, cover);
    for (size_t i = 0; i < sizeof cover; i++) {
        sum += cover[i] / 255.0;
    }
    return sum;
}

static void test_mask_areas(void **state)
{
    (void)state;
    Mask mask = {0};
    DrawPoint box[] = {{10.25, 10.5}, {30.75, 10.5}, {30.75, 20.0}, {10.25, 20.0}};
    DrawPoint triangle[] = {{5, 5}, {55, 12}, {20, 60}};
    DrawPoint around[] = {{-100, -100}, {200, -100}, {200, 200}, {-100, 200}};
    DrawPoint way[] = {{10, 50}, {50, 20}};
    DrawPoint angle[] = {{10, 10}, {50, 10}, {50, 50}};
    static const double PI = 3.14159265358979323846;

    mask_begin(&mask, SIDE, SIDE);
    mask_add_outline(&mask, box, 4);
    assert_near(area_of(&mask), 20.5 * 9.5, 5e-3);
    mask_begin(&mask, SIDE, SIDE);
    mask_add_outline(&mask, triangle, 3); /* half the cross product of two sides */
    assert_near(area_of(&mask), (50.0 * 55.0 - 15.0 * 7.0) / 2.0, 5e-3);
    mask_begin(&mask, SIDE, SIDE);
    mask_add_outline(&mask, around, 4);
    assert_near(area_of(&mask), SIDE * SIDE, 1e-9);
    mask_begin(&mask, SIDE, SIDE);
    mask_add_circle(&mask, (DrawPoint){31.3, 32.1}, 25.0, false);
    assert_near(area_of(&mask), PI * 625.0, 5e-3);
    mask_add_circle(&mask, (DrawPoint){31.3, 32.1}, 20.0, true);
    assert_near(area_of(&mask), PI * 225.0, 5e-3);
    mask_begin(&mask, SIDE, SIDE);
    mask_add_stroke(&mask, way, 2, false, 3.0);
    assert_near(area_of(&mask), 50.0 * 3.0, 5e-3);
    mask_begin(&mask, SIDE, SIDE); /* two ways and the square of the mitre between them */
    mask_add_stroke(&mask, angle, 3, false, 4.0);
    assert_near(area_of(&mask), 2.0 * 40.0 * 4.0, 5e-3);
    mask_begin(&mask, SIDE, SIDE); /* a frame: the outer square without the inner one */
    mask_add_stroke(&mask, box, 4, true, 2.0);
    assert_near(area_of(&mask), 22.5 * 11.5 - 18.5 * 7.5, 5e-3);
    mask_free(&mask);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_draw_contrast_table),
        cmocka_unit_test(test_draw_pair_allowed_contrast),
        cmocka_unit_test(test_draw_wrap_rows),
        cmocka_unit_test(test_draw_print_every_kind),
        cmocka_unit_test(test_mask_areas),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
