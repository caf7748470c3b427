/* The bench: its numbers against the parts of the detector, its widgets, its puzzle; and its
 * picture everywhere. */
#include "ui_place.h"

#include "detector/smallest.h"
#include "scenario/describe.h"
#include "ui/plot.h"

#define PI 3.14159265358979323846

static Bench *bench_of(const Window *window)
{
    return &window->session->bench;
}

static const BenchView *view_of(const Window *window, int side)
{
    Bench *bench = bench_of(window);
    return bench_view(bench->model, &bench->sides[side]);
}

static int open(void **state)
{
    Window *window = check_calloc(1, sizeof *window);
    window_open(window);
    session_go(window->session, PLACE_BENCH);
    window_draw(window);
    *state = window;
    return 0;
}

/* --- Pictures -------------------------------------------------------------------------------- */

static void look(Window *window)
{
    bool is_big = window_find(window, "tab", 0) != NULL;
    for (int tab = 0; tab < (is_big ? 4 : 1); tab++) {
        if (is_big) window_press(window, "tab", tab);
        check_picture(window);
    }
    if (is_big) window_press(window, "tab", 0);
}

static void test_place_bench_everywhere(void **state)
{
    Window *window = *state;
    Bench *bench = bench_of(window);
    check_everywhere(window, "bench", look);
    bench->is_single = true;
    check_everywhere(window, "bench, one", look);
    bench->sides[0].is_wire = false;
    bench->sides[0].diameter_mm = 2.0;
    bench->sent[0] = 1234;
    bench->found[0] = 987;
    check_everywhere(window, "bench, sphere, sent", look);
}

static void test_place_bench_choosers_everywhere(void **state)
{
    static const char *const names[] = {"", "head", "product", "piece"};
    Window *window = *state;
    Bench *bench = bench_of(window);
    for (int open = 1; open <= 3; open++) {
        bench->open = open;
        bench->shown = open % 2;
        check_everywhere(window, names[open], check_picture);
    }
}

static void test_place_bench_puzzle_everywhere(void **state)
{
    Window *window = *state;
    Bench *bench = bench_of(window);
    window_press(window, "extra", 2);
    for (int step = PUZZLE_HIDE; step <= PUZZLE_SOLVED; step++) {
        bench->puzzle = (PuzzleStep)step;
        bench->shown = step == PUZZLE_HIDE ? 0 : 1;
        bench->says = step == PUZZLE_HIDE   ? "bench.seen"
                      : step == PUZZLE_FIND ? "bench.not-yet"
                                            : "bench.solved";
        bench->says_chance = 0.9999;
        check_everywhere(window, "puzzle", look);
    }
}

/* --- Numbers --------------------------------------------------------------------------------- */

/* The wire of the first picture is missed under the one head and found under the other. */
static void test_bench_first(void **state)
{
    Window *window = *state;
    assert_true(view_of(window, 0)->ratio < 1.0);
    assert_true(view_of(window, 1)->ratio > 1.0);
    assert_true(window_shows(window, "Missed"));
    assert_true(window_shows(window, "Found"));
}

static void assert_close(double got, double want, double relative)
{
    if (fabs(got - want) > relative * fabs(want)) fail_msg("got %.17g, want %.17g", got, want);
}

/* What is copied, read by the parser of `threepass pass`, gives the ratio and chance that are
 * shown. */
static void check_description(Window *window, int side)
{
    Err err = {0};
    JsonDoc *doc = NULL;
    PassDescription pass = {0};
    PassResult result = {0};
    Bench *bench = bench_of(window);
    window_press(window, "extra", side == 0 ? 4 : 5);
    assert_true(bench->copied.len > 0);
    bool ok = json_parse("copied", bench->copied.bytes, bench->copied.len, &doc, &err) &&
              describe_pass(json_root(doc), bench_metals(bench->model), &pass, &err) &&
              pass_compute(&pass, &result, &err);
    if (!ok) fail_msg("%s", err.text);
    const BenchView *view = view_of(window, side);
    assert_close(view->ratio, result.ratio, 1e-9);
    assert_close(view->peak_v, result.peak_v, 1e-9);
    assert_close(view->chance, result.found_probability, 1e-7);
    assert_int_equal(view->travel.count, result.travel.count);
    pass_result_clear(&result);
    pass_description_clear(&pass);
    json_free(doc);
}

static void test_bench_copy(void **state)
{
    static const struct {
        double along_mm, across_mm, up_mm, azimuth_deg, elevation_deg;
        bool is_wire;
    } rows[] = {{0, 0, 0, 0, 0, true},     {20, -10, 30, 45, 15, true},
                {-30, 25, 5, 90, 0, true}, {10, 12, 20, 165, -75, true},
                {0, 5, 10, 0, 90, true},   {5, 5, 5, 0, 0, false}};
    Window *window = *state;
    Bench *bench = bench_of(window);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (int side = 0; side < BENCH_SIDES; side++) {
            BenchSide *it = &bench->sides[side];
            it->along_mm = rows[i].along_mm;
            it->across_mm = rows[i].across_mm;
            it->up_mm = rows[i].up_mm;
            it->azimuth_deg = rows[i].azimuth_deg;
            it->elevation_deg = rows[i].elevation_deg;
            it->is_wire = rows[i].is_wire;
            it->metal = (int)i;
            window_draw(window);
            check_description(window, side);
        }
    }
}

/* The largest value of the drawn trace is the ratio, and nothing of it is larger. */
static void test_bench_trace(void **state)
{
    Window *window = *state;
    for (int side = 0; side < BENCH_SIDES; side++) {
        const BenchView *view = view_of(window, side);
        double largest = 0.0;
        for (size_t i = 0; i < view->travel.count; i++) {
            largest = fmax(largest, fabs(view->signal[i]));
        }
        assert_close(largest, view->ratio, 1e-9);
    }
}

/* The mean over all turns by another rule: Gauss and Legendre's five points in the cosine (M.
 * Abramowitz & I. Stegun, Handbook of Mathematical Functions, table 25.4) over each of 12
 * bands, and even steps round the axis; each ratio from a view of its own. */
static void test_bench_all_turns(void **state)
{
    static const double nodes[] = {0.0, 0.538469310105683, -0.538469310105683, 0.906179845938664,
                                   -0.906179845938664};
    static const double weights[] = {0.568888888888889, 0.478628670499366, 0.478628670499366,
                                     0.236926885056189, 0.236926885056189};
    enum { BANDS = 8, ROUND = 40 };
    Window *window = *state;
    Bench *bench = bench_of(window);
    for (int side = 0; side < BENCH_SIDES; side++) {
        double shown = view_of(window, side)->chance_all_turns;
        double sum = 0.0;
        for (int i = 0; i < BANDS * 5 * ROUND; i++) {
            int band = i / ROUND / 5;
            double z = (band + 0.5 + nodes[i / ROUND % 5] / 2.0) / BANDS;
            BenchSide turned = bench->sides[side];
            turned.elevation_deg = asin(z) * 180.0 / PI;
            turned.azimuth_deg = 360.0 * (i % ROUND + 0.5) / ROUND;
            double chance = bench_view(bench->model, &turned)->chance;
            sum += chance * weights[i / ROUND % 5] / 2.0 / BANDS / ROUND;
        }
        if (fabs(sum - shown) > 0.005) fail_msg("shown %.5f, by Gauss %.5f", shown, sum);
    }
}

/* Each number of the map is that of smallest_sphere at its place, with the whole travel. */
static void test_bench_map(void **state)
{
    Window *window = *state;
    Bench *bench = bench_of(window);
    Err err = {0};
    for (int side = 0; side < BENCH_SIDES; side++) {
        const BenchView *view = view_of(window, side);
        const DetectHead *head = &view->head.head;
        DetectProgram program = {0};
        assert_true(detect_program_init(&program, head, &view->pack, &view->travel, &err));
        double wanted = detect_ratio_for(view->head.found_probability, program.kappa);
        double *coupling = check_calloc(view->travel.count, sizeof *coupling);
        TargetMetal metal = metals_at(bench_metals(bench->model), (size_t)view->map_metal)->figures;
        for (int i = 0; i < BENCH_MAP_UP * BENCH_MAP_ACROSS; i += 7) {
            double across = (double)(i % BENCH_MAP_ACROSS) / (BENCH_MAP_ACROSS - 1) - 0.5;
            int row = (int)(i / BENCH_MAP_ACROSS);
            double up = (double)row / (BENCH_MAP_UP - 1) - 0.5;
            double diameter_m = 0.0;
            smallest_coupling(&head->coils, across * head->coils.aperture_width_m,
                              up * head->coils.aperture_height_m, &view->travel, coupling);
            SmallestPlace place = {.program = &program,
                                   .frequency_hz = head->frequency_hz,
                                   .coupling = coupling,
                                   .count = view->travel.count};
            assert_true(
                smallest_sphere(&place, metal, wanted, head->coils.aperture_height_m, &diameter_m));
            assert_close(view->map[i], diameter_m * 1e3, 1e-8);
        }
        free(coupling);
        detect_program_clear(&program);
    }
}

/* The number set into a contour is what smallest_sphere gives at the middle of the number: to
 * half its last digit and what straight lines between the points of the net leave. */
static void check_numbers(const BenchView *view, const Ui *ui, const PlotMap *map, DrawRect box,
                          TargetMetal metal)
{
    Err err = {0};
    DetectProgram program = {0};
    const DetectHead *head = &view->head.head;
    assert_true(detect_program_init(&program, head, &view->pack, &view->travel, &err));
    double wanted = detect_ratio_for(view->head.found_probability, program.kappa);
    double *coupling = check_calloc(view->travel.count, sizeof *coupling);
    int numbers = 0;
    for (size_t i = 0; i < ui->list->item_count; i++) {
        const DrawItem *item = &ui->list->items[i];
        if (item->kind != DRAW_ITEM_TEXT) continue;
        double x = (item->box.x + item->box.w / 2 - box.x) / box.w - 0.5;
        double y = 0.5 - (item->box.y + item->box.h / 2 - box.y) / box.h;
        double number = strtod(draw_words(ui->list, item), NULL);
        double diameter_m = 0.0;
        smallest_coupling(&head->coils, x * map->width_mm / 1e3, y * map->height_mm / 1e3,
                          &view->travel, coupling);
        SmallestPlace place = {.program = &program,
                               .frequency_hz = head->frequency_hz,
                               .coupling = coupling,
                               .count = view->travel.count};
        assert_true(
            smallest_sphere(&place, metal, wanted, head->coils.aperture_height_m, &diameter_m));
        if (fabs(diameter_m * 1e3 - number) > 0.07)
            fail_msg("it says %g, it is %.3f", number, diameter_m * 1e3);
        numbers++;
    }
    assert_true(numbers >= 3);
    free(coupling);
    detect_program_clear(&program);
}

static void test_plot_map_numbers(void **state)
{
    static const UiEvent nothing = {.kind = UI_NOTHING};
    Window *window = *state;
    DrawList list = {0};
    UiMemory memory = {0};
    Ui ui = {.list = &list,
             .measure = {place_width, NULL},
             .texts = window->session->texts[0],
             .language = "en",
             .memory = &memory,
             .event = &nothing,
             .text_percent = 100,
             .width = 1280,
             .height = 800};
    const MetalTable *metals = bench_metals(bench_of(window)->model);
    for (int side = 0; side < BENCH_SIDES; side++) {
        const BenchView *view = view_of(window, side);
        PlotMap map = {.mm = view->map,
                       .columns = BENCH_MAP_ACROSS,
                       .rows = BENCH_MAP_UP,
                       .width_mm = view->head.head.coils.aperture_width_m * 1e3,
                       .height_mm = view->head.head.coils.aperture_height_m * 1e3};
        ui_begin(&ui, DRAW_LIGHT);
        DrawRect box = plot_map(&ui, (DrawRect){100, 100, 500, 400}, &map);
        check_numbers(view, &ui, &map, box, metals_at(metals, (size_t)view->map_metal)->figures);
    }
    draw_free(&list);
}

/* The sphere of the map, sent through the place it is of, has the wanted ratio: shown and
 * computed by two ways. */
static void test_bench_map_sphere(void **state)
{
    Window *window = *state;
    Bench *bench = bench_of(window);
    BenchSide side = bench->sides[0];
    const BenchView *view = bench_view(bench->model, &side);
    side.is_wire = false;
    side.metal = view->map_metal;
    side.across_mm = 0.0;
    side.up_mm = -(view->pack.centre_up_m - view->pack.height_m / 2.0) * 1e3; /* the middle */
    side.diameter_mm = view->map[BENCH_MAP_UP / 2 * BENCH_MAP_ACROSS + BENCH_MAP_ACROSS / 2];
    view = bench_view(bench->model, &side);
    assert_close(view->chance, view->head.found_probability, 1e-6);
}

/* The frame of a map: the widest sheet whose sides are as those of the side's aperture. */
static DrawRect map_frame(const Window *window, int side)
{
    const CoilHead *coils = &view_of(window, side)->head.head.coils;
    DrawRect frame = {0};
    for (size_t i = 0; i < window->list.item_count; i++) {
        const DrawItem *item = &window->list.items[i];
        if (item->kind != DRAW_ITEM_RECT || item->fill != DRAW_SHEET) continue;
        double off = item->box.w / item->box.h - coils->aperture_width_m / coils->aperture_height_m;
        if (fabs(off) < 1e-6 && item->box.w > frame.w) frame = item->box;
    }
    return frame;
}

/* Two maps side by side compare: a millimetre is as long on both, and the contours go by one
 * step. */
static void test_bench_maps_share_axes(void **state)
{
    Window *window = *state;
    window_draw(window);
    double scale[BENCH_SIDES];
    for (int side = 0; side < BENCH_SIDES; side++) {
        DrawRect frame = map_frame(window, side);
        assert_true(frame.w > 100.0);
        scale[side] = frame.w / view_of(window, side)->head.head.coils.aperture_width_m;
    }
    assert_close(scale[0], scale[1], 1e-9);
    assert_true(window_shows(window, "Head B3"));
    assert_true(window_shows(window, "Head D1"));
    window_press(window, "choose", 1);
    assert_true(window_shows(window, "D1, 300"));
    assert_false(window_shows(window, "d-small"));
}

/* A zero is copied as 0, whatever turn it came from. */
static void test_bench_copies_plain_zeros(void **state)
{
    Window *window = *state;
    Bench *bench = bench_of(window);
    for (int azimuth = 0; azimuth < 180; azimuth += 15) {
        Text text = {0};
        BenchSide side = bench->sides[0];
        side.azimuth_deg = azimuth;
        side.across_mm = -0.0;
        side.elevation_deg = -0.0;
        bench_settle(bench->model, &side);
        bench_describe(bench->model, &side, &text);
        for (const char *at = strstr(text.bytes, "-0"); at != NULL; at = strstr(at + 1, "-0")) {
            assert_true(at[2] == '.' || at[-1] == 'e'); /* -0.5, 6e-05 */
        }
        text_clear(&text);
    }
}

/* --- Widgets --------------------------------------------------------------------------------- */

static void test_bench_dial_and_keys(void **state)
{
    Window *window = *state;
    Bench *bench = bench_of(window);
    window_type(window, "1");
    assert_true(bench->sides[0].azimuth_deg == 0.0);
    window_type(window, "5");
    assert_true(bench->sides[1].azimuth_deg == 90.0 && bench->sides[1].elevation_deg == 0.0);
    window_type(window, "6");
    assert_true(bench->sides[1].elevation_deg == 90.0);
    for (int plan = 0; plan < 2; plan++) {
        const double *degrees =
            plan == 1 ? &bench->sides[0].azimuth_deg : &bench->sides[0].elevation_deg;
        const DrawTarget dial = window_target(window, "dial", plan);
        double x = dial.box.x + dial.box.w / 2;
        double y = dial.box.y + dial.box.h / 2;
        window_press_at(window, x + 20, y - 20);
        double by_pointer = *degrees;
        assert_true(by_pointer == 45.0);
        window_key(window, UI_KEY_HOME);
        assert_true(*degrees == 0.0);
        for (int i = 0; i < 3; i++) {
            window_key(window, UI_KEY_UP);
        }
        assert_true(*degrees == by_pointer);
        /* the end below the middle is the other end of the same wire */
        window_press_at(window, x - 20, y + 20);
        assert_true(*degrees == by_pointer);
    }
    double turned = view_of(window, 0)->ratio;
    bench->sides[0].azimuth_deg = 45.0;
    bench->sides[0].elevation_deg = 45.0;
    assert_close(view_of(window, 0)->ratio, turned, 1e-12);
}

static void test_bench_move(void **state)
{
    Window *window = *state;
    BenchSide *side = &bench_of(window)->sides[0];
    const DrawTarget plan = window_target(window, "view", 1);
    window_press_at(window, plan.box.x + plan.box.w / 2, plan.box.y + plan.box.h / 2);
    assert_true(fabs(side->along_mm) <= 1.0 && fabs(side->across_mm) <= 1.0);
    double across = side->across_mm;
    window_key(window, UI_KEY_UP);
    assert_true(side->across_mm == across + 5.0);
    double along = side->along_mm;
    window_key(window, UI_KEY_RIGHT);
    assert_true(side->along_mm == along + 5.0);
    /* dragged out of the pack it stays at its edge */
    window_send(window, (UiEvent){.kind = UI_DOWN, .x = plan.box.x + 90, .y = plan.box.y + 40});
    window_send(window, (UiEvent){.kind = UI_MOVE, .x = 1, .y = plan.box.y + 40});
    window_send(window, (UiEvent){.kind = UI_UP, .x = 1, .y = plan.box.y + 40});
    assert_true(side->along_mm == -view_of(window, 0)->pack.length_m * 500.0);
    const DrawTarget from_side = window_target(window, "view", 0);
    window_press_at(window, from_side.box.x + 90, from_side.box.y + from_side.box.h - 1);
    assert_true(side->up_mm == 0.0);
    window_key(window, UI_KEY_UP);
    assert_true(side->up_mm == 5.0);
}

static void test_bench_choose(void **state)
{
    Window *window = *state;
    Bench *bench = bench_of(window);
    const Site *site = session_site(window->session);
    for (int i = 0; i < (int)metals_count(bench_metals(bench->model)); i++) {
        if (bench->open == 0) window_press(window, "choose", 3);
        window_press(window, "metal", i);
        assert_int_equal(bench->sides[0].metal, i);
    }
    window_press(window, "shape", 0);
    assert_false(bench->sides[0].is_wire);
    assert_int_equal(view_of(window, 0)->map_metal, bench->sides[0].metal);
    double before = bench->sides[0].diameter_mm;
    for (int i = 0; i < 30; i++) {
        window_press(window, "thick", 1);
    }
    assert_true(bench->sides[0].diameter_mm > before);
    for (int i = 0; i < 30; i++) {
        window_press(window, "thick", 0);
    }
    assert_true(bench->sides[0].diameter_mm == before);
    for (int i = 0; i < 100; i++) {
        window_press(window, "thick", 0);
    }
    assert_true(bench->sides[0].diameter_mm == BENCH_THICK_MM_MIN);
    window_press(window, "shape", 1);
    for (int i = 0; i < 200; i++) {
        window_press(window, "long", 1);
    }
    assert_true(bench->sides[0].length_mm == BENCH_LONG_MM_MAX);
    window_press(window, "shape", 2);
    assert_true(bench->sides[1].length_mm == BENCH_LONG_MM_MAX);
    window_key(window, UI_KEY_ESCAPE);
    assert_int_equal(bench->open, 0);
    assert_int_equal(window->session->place, PLACE_BENCH);
    /* every head with every product that goes through it */
    for (int head = 0; head < site->head_count; head++) {
        window_press(window, "choose", 1);
        window_press(window, "choice", head);
        assert_int_equal(bench->sides[0].head, head);
        assert_true(bench_has_product(bench->model, head, bench->sides[0].product));
    }
    window_key(window, UI_KEY_ESCAPE);
    assert_int_not_equal(window->session->place, PLACE_BENCH);
}

/* A piece of the site, laid as in a run, is shown as it lay. */
static void test_bench_set_up(void **state)
{
    Window *window = *state;
    Bench *bench = bench_of(window);
    const Site *site = session_site(window->session);
    BenchSide lying = {.along_mm = 10, .across_mm = -5, .up_mm = 40, .azimuth_deg = 90};
    for (int i = 0; i < site->piece_count; i++) {
        const SitePiece *piece = &site->pieces[i];
        session_go(window->session, PLACE_DOOR);
        bench_set_up(window->session, site->lines[0].head, site->lines[0].programs[0].product,
                     piece, &lying);
        window_draw(window);
        const BenchSide *side = &bench->sides[0];
        assert_int_equal(window->session->place, PLACE_BENCH);
        assert_true(bench->is_single && side->is_wire == piece->is_wire);
        assert_true(side->along_mm == 10 && side->across_mm == -5 && side->up_mm == 40);
        assert_close(side->diameter_mm * 1e3, (double)piece->diameter_um, 1e-12);
        assert_string_equal(metals_at(bench_metals(bench->model), (size_t)side->metal)->name,
                            piece->metal->name);
    }
}

/* Packs sent are found as often as the chance says: 4 standard deviations of 400 throws. */
static void test_bench_send(void **state)
{
    enum { PACKS = 400 };
    Window *window = *state;
    Bench *bench = bench_of(window);
    for (int i = 0; i < PACKS; i++) {
        window_press(window, "next", 0);
    }
    for (int side = 0; side < BENCH_SIDES; side++) {
        double chance = view_of(window, side)->chance;
        double far = 4.0 * sqrt(PACKS * chance * (1.0 - chance)) + 1.0;
        assert_int_equal(bench->sent[side], PACKS);
        assert_true(fabs(bench->found[side] - PACKS * chance) <= far);
    }
    assert_true(session_moves(window->session));
    for (int i = 0; i < 10; i++) {
        session_tick(window->session, 200000);
    }
    assert_false(session_moves(window->session));
    window_type(window, "1"); /* another turn: what was sent before says nothing of it */
    assert_int_equal(bench->sent[0], 0);
}

/* --- The puzzle ------------------------------------------------------------------------------ */

static void test_bench_puzzle(void **state)
{
    Window *window = *state;
    Bench *bench = bench_of(window);
    window_press(window, "extra", 2);
    assert_int_equal(bench->puzzle, PUZZLE_HIDE);
    assert_true(view_of(window, 0)->chance >= 0.5);
    assert_false(window_shows(window, "Missed"));
    assert_false(window_shows(window, "nV")); /* no answer before it is sent */
    assert_null(window_find(window, "choose", 1));
    window_press(window, "next", 0);
    assert_int_equal(bench->puzzle, PUZZLE_HIDE); /* it was seen */
    assert_true(window_shows(window, "nV"));
    /* find the hidden turn by trying the three, as a person would */
    for (int turn = 0; turn < 3 && bench->puzzle == PUZZLE_HIDE; turn++) {
        char key[2] = {(char)('1' + turn), '\0'};
        BenchSide before = bench->sides[0];
        window_type(window, key);
        bool is_as_before = bench_same(&before, &bench->sides[0]);
        assert_int_equal(window_shows(window, "nV"), is_as_before);
        bool is_hidden = view_of(window, 0)->chance <= BENCH_HIDDEN;
        window_press(window, "next", 0);
        assert_int_equal(bench->puzzle, is_hidden ? PUZZLE_FIND : PUZZLE_HIDE);
    }
    assert_int_equal(bench->puzzle, PUZZLE_FIND);
    assert_true(bench_same(&bench->sides[0], &bench->sides[1]));
    assert_null(window_find(window, "view", 1000)); /* the wire stays where it lies */
    window_press(window, "next", 0);
    assert_int_equal(bench->puzzle, PUZZLE_FIND); /* as it lies it is still not found */
    for (int turn = 0; turn < 3 && bench->puzzle == PUZZLE_FIND; turn++) {
        char key[2] = {(char)('4' + turn), '\0'};
        window_type(window, key);
        bool is_found = view_of(window, 1)->chance >= BENCH_FOUND;
        window_press(window, "next", 0);
        assert_int_equal(bench->puzzle, is_found ? PUZZLE_SOLVED : PUZZLE_FIND);
    }
    assert_int_equal(bench->puzzle, PUZZLE_SOLVED);
    assert_true(window_shows(window, "over 999 in 1\xC2\xA0"
                                     "000"));
    window_press(window, "next", 0);
    assert_int_equal(bench->puzzle, PUZZLE_NONE);
}

/* Lead has no such wire here: the program says so instead of giving a puzzle that has no answer. */
static void test_bench_no_puzzle(void **state)
{
    Window *window = *state;
    Bench *bench = bench_of(window);
    BenchSide before = bench->sides[1];
    for (size_t i = 0; i < metals_count(bench_metals(bench->model)); i++) {
        if (strcmp(metals_at(bench_metals(bench->model), i)->name, "lead") == 0)
            bench->sides[0].metal = (int)i;
    }
    window_press(window, "extra", 2);
    assert_int_equal(bench->puzzle, PUZZLE_NONE);
    assert_true(window_shows(window, "Choose another metal"));
    assert_true(bench_same(&before, &bench->sides[1]));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_place_bench_everywhere, open, window_leave),
        cmocka_unit_test_setup_teardown(test_place_bench_choosers_everywhere, open, window_leave),
        cmocka_unit_test_setup_teardown(test_place_bench_puzzle_everywhere, open, window_leave),
        cmocka_unit_test_setup_teardown(test_bench_first, open, window_leave),
        cmocka_unit_test_setup_teardown(test_bench_copy, open, window_leave),
        cmocka_unit_test_setup_teardown(test_bench_trace, open, window_leave),
        cmocka_unit_test_setup_teardown(test_bench_all_turns, open, window_leave),
        cmocka_unit_test_setup_teardown(test_bench_map, open, window_leave),
        cmocka_unit_test_setup_teardown(test_plot_map_numbers, open, window_leave),
        cmocka_unit_test_setup_teardown(test_bench_maps_share_axes, open, window_leave),
        cmocka_unit_test_setup_teardown(test_bench_copies_plain_zeros, open, window_leave),
        cmocka_unit_test_setup_teardown(test_bench_map_sphere, open, window_leave),
        cmocka_unit_test_setup_teardown(test_bench_set_up, open, window_leave),
        cmocka_unit_test_setup_teardown(test_bench_dial_and_keys, open, window_leave),
        cmocka_unit_test_setup_teardown(test_bench_move, open, window_leave),
        cmocka_unit_test_setup_teardown(test_bench_choose, open, window_leave),
        cmocka_unit_test_setup_teardown(test_bench_send, open, window_leave),
        cmocka_unit_test_setup_teardown(test_bench_puzzle, open, window_leave),
        cmocka_unit_test_setup_teardown(test_bench_no_puzzle, open, window_leave),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
