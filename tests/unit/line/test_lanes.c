/* Lanes: packs side by side under one head, each lane with its own photo-eye and reject device. The
 * times are those of the fixture's line by hand: 0.5 m/s, the coils 1.2 m behind the infeed, the
 * reject device 0.9 m further on. */
#include "unit/line/fixture.h"

enum { MS = 1000, S = 1000000, FIRST_US = 750 * MS, REACHES_US = FIRST_US + 4200 * MS };

static LineSetup lanes_of(int lanes)
{
    LineSetup setup = SETUP;
    setup.lanes = lanes;
    setup.lane_um = 300000 / lanes;
    return setup;
}

static void test_lanes_lie_side_by_side(void **state)
{
    (void)state;
    const LineSetup one = lanes_of(1);
    const LineSetup two = lanes_of(2);
    const LineSetup three = lanes_of(3);
    assert_int_equal(line_lane_um(&one, 0), 0);
    assert_int_equal(line_lane_um(&two, 0), -75000);
    assert_int_equal(line_lane_um(&two, 1), 75000);
    assert_int_equal(line_lane_um(&three, 0), -100000);
    assert_int_equal(line_lane_um(&three, 1), 0);
    assert_int_equal(line_lane_um(&three, 2), 100000);
}

/* A ball in one lane, good packs or none in the other; what becomes of them. */
static void send_in_lane(Bench *bench, int lane, bool fed, const LineTrouble *trouble, Story *story)
{
    const LineSetup setup = lanes_of(2);
    LineTestPack pack = pack_with_ball(1, 0.0);
    pack.lane = lane;
    bench_init(bench, &setup, 1e-15, 6.0, 1);
    line_set_trouble(bench->line, trouble);
    line_feed(bench->line, fed);
    lay(bench->line, pack);
    story->count = 0;
    go(bench->line, (int64_t)8 * S, story);
}

/* The head cannot tell the lanes apart: the good pack beside the ball goes with it, at the same
 * moment, and no other. */
static void test_pack_beside_goes_too(void **state)
{
    (void)state;
    static Story story;
    for (int lane = 0; lane < 2; lane++) {
        Bench bench;
        send_in_lane(&bench, lane, true, &(LineTrouble){0}, &story);
        assert_int_equal(count_of(&story, LINE_ALARM, -1), 1);
        assert_int_equal(count_of(&story, LINE_BLOW, -1), 2);
        assert_int_equal(count_of(&story, LINE_REMOVED, -1), 2);
        const LineEvent own = first(&story, LINE_REMOVED, 1);
        const LineEvent other = first(&story, LINE_REMOVED, 0);
        assert_int_equal(own.time_us, REACHES_US);
        assert_int_equal(other.time_us, REACHES_US);
        assert_int_equal(own.lane, lane);
        assert_int_equal(own.beside, 0);
        assert_int_equal(other.lane, 1 - lane);
        assert_int_equal(other.beside, lane + 1);
        bench_clear(&bench);
    }
}

static void test_empty_lane_has_no_blow(void **state)
{
    (void)state;
    static Story story;
    Bench bench;
    send_in_lane(&bench, 1, false, &(LineTrouble){0}, &story);
    assert_int_equal(count_of(&story, LINE_BLOW, -1), 1);
    assert_int_equal(first(&story, LINE_BLOW, -1).lane, 1);
    assert_int_equal(count_of(&story, LINE_REMOVED, 1), 1);
    bench_clear(&bench);
}

/* Metal in both packs of a row: two alarms, one blow in each lane, and each for its own metal. */
static void test_metal_in_both_lanes(void **state)
{
    (void)state;
    static Story story;
    Bench bench;
    const LineSetup setup = lanes_of(2);
    bench_init(&bench, &setup, 1e-15, 6.0, 1);
    for (int i = 1; i <= 2; i++) {
        LineTestPack pack = pack_with_ball(i, i == 1 ? 0.03 : -0.03);
        pack.lane = i - 1;
        lay(bench.line, pack);
    }
    story.count = 0;
    go(bench.line, (int64_t)8 * S, &story);
    assert_int_equal(count_of(&story, LINE_ALARM, -1), 2);
    assert_int_equal(count_of(&story, LINE_BLOW, -1), 2);
    for (int i = 1; i <= 2; i++) {
        const LineEvent removed = first(&story, LINE_REMOVED, i);
        assert_int_equal(removed.lane, i - 1);
        assert_int_equal(removed.beside, 0);
    }
    bench_clear(&bench);
}

static void test_dead_lane_lets_its_packs_go(void **state)
{
    (void)state;
    static Story story;
    for (int lane = 0; lane < 2; lane++) {
        Bench bench;
        send_in_lane(&bench, lane, true, &(LineTrouble){.lane_dead = {false, true}}, &story);
        assert_int_equal(count_of(&story, LINE_ALARM, 1), 1); /* the head finds it in any lane */
        assert_int_equal(count_of(&story, LINE_REMOVED, 1), lane == 0);
        assert_int_equal(count_of(&story, LINE_PASSED, 1), lane == 1);
        assert_int_equal(first(&story, LINE_REMOVED, -1).lane, 0);
        bench_clear(&bench);
    }
}

/* A lane that was told to act and did not leaves the bin's sensor without a pack: where the line
 * watches over that, it stops itself. */
static void test_dead_lane_is_not_confirmed(void **state)
{
    (void)state;
    static Story story;
    Bench bench;
    LineSetup setup = lanes_of(2);
    setup.monitors[LINE_MONITOR_CONFIRMATION] = true;
    bench_init(&bench, &setup, 1e-15, 6.0, 1);
    line_set_trouble(bench.line, &(LineTrouble){.lane_dead = {false, true}});
    LineTestPack pack = pack_with_ball(1, 0.0);
    pack.lane = 1;
    lay(bench.line, pack);
    story.count = 0;
    go(bench.line, (int64_t)8 * S, &story);
    assert_true(first(&story, LINE_STOPPED_SELF, -1).monitor == LINE_MONITOR_CONFIRMATION);
    bench_clear(&bench);
}

/* Two pieces, each on the other side of the middle, are seen at once: the head's ratio is that of
 * their sum, made here by one call for both. */
static void test_lanes_are_summed(void **state)
{
    (void)state;
    static Story story;
    Bench bench;
    const LineSetup setup = lanes_of(2);
    bench_init(&bench, &setup, 1e-15, 0.5, 1);
    for (int i = 1; i <= 2; i++) {
        LineTestPack pack = pack_with_ball(i, 0.0);
        pack.lane = i - 1;
        lay(bench.line, pack);
    }
    story.count = 0;
    go(bench.line, (int64_t)4 * S, &story);
    DetectPiece both[] = {BALL, BALL};
    both[0].across_m = -0.075;
    both[1].across_m = 0.075;
    DetectGrid grid = bench_grid();
    static double along[711];
    static double across[711];
    double most = 0.0;
    detect_trace(&bench.head, &bench.program, NULL, both, 2, &grid, along, across);
    for (int i = 0; i < 711; i++) {
        most = fmax(most, hypot(along[i], across[i]));
    }
    assert_int_equal(first(&story, LINE_JUDGED, 1).ratio_milli, llround(most * 1000.0));
    assert_int_equal(first(&story, LINE_JUDGED, 2).ratio_milli, llround(most * 1000.0));
    bench_clear(&bench);
}

/* A jam holds each lane by itself, and what is taken out by hand makes room in its own. */
static void test_jam_in_each_lane(void **state)
{
    (void)state;
    static Story story;
    Bench bench;
    const LineSetup setup = lanes_of(2);
    bench_init(&bench, &setup, 1e-15, 6.0, 1);
    line_set_trouble(bench.line, &(LineTrouble){.is_jammed = true});
    for (int i = 1; i <= 3; i++) {
        lay(bench.line, (LineTestPack){.number = i, .lane = i == 3});
    }
    story.count = 0;
    go(bench.line, (int64_t)8 * S, &story);
    /* the second of lane 0 comes 0.75 s later, and sticks 110 mm before the coils */
    assert_int_equal(time_of(&story, LINE_JAMMED, 1), FIRST_US + 2400 * MS);
    assert_int_equal(time_of(&story, LINE_JAMMED, 2), FIRST_US + (750 + 2400 - 220) * MS);
    assert_int_equal(time_of(&story, LINE_JAMMED, 3), FIRST_US + 2400 * MS);
    assert_int_equal(line_counts(bench.line).tests_in_jam, 3);
    assert_true(line_take(bench.line, 3));
    assert_int_equal(line_clear_jam(bench.line), 2);
    bench_clear(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lanes_lie_side_by_side),
        cmocka_unit_test(test_pack_beside_goes_too),
        cmocka_unit_test(test_empty_lane_has_no_blow),
        cmocka_unit_test(test_metal_in_both_lanes),
        cmocka_unit_test(test_dead_lane_lets_its_packs_go),
        cmocka_unit_test(test_dead_lane_is_not_confirmed),
        cmocka_unit_test(test_lanes_are_summed),
        cmocka_unit_test(test_jam_in_each_lane),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
