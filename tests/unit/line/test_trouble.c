/* What can be wrong with the line, each by a hand-worked example: lengths in mm, times in s; the
 * belt is built for 500 mm/s, packs of 110 mm come 375 mm apart, the reject device is 900 mm and
 * the eye 250 mm from the coils. The arithmetic stands beside each; the settings are the fixture's,
 * common practice, no source. */
#include "unit/line/fixture.h"

#define MS INT64_C(1000)
#define S INT64_C(1000000)

static void assert_about(int64_t got, int64_t want)
{
    enum { ROUNDING_US = 10 };
    if (llabs(got - want) > ROUNDING_US) {
        fail_msg("got %lld us, want %lld us", (long long)got, (long long)want);
    }
}

/* The n-th event of that kind, n from 0; the test fails when there is none. */
static LineEvent event_of(const Story *story, LineEventKind kind, int n)
{
    const LineEvent *event = nth(story, kind, -1, n);
    if (event != NULL) return *event;
    fail_msg("no event %d of kind %d", n, (int)kind);
    return (LineEvent){0};
}

/* One pack with a ball goes over a line with that trouble. */
static void send_one(LineSetup setup, const LineTrouble *trouble, Story *story)
{
    Bench bench;
    bench_init(&bench, &setup, 1e-15, 3.0, 1);
    line_set_trouble(bench.line, trouble);
    lay(bench.line, pack_with_ball(1, 0.0));
    story->count = 0;
    go(bench.line, 20 * S, story);
    bench_clear(&bench);
}

static LineSetup setup_of(LineStart start, LineTiming timing)
{
    LineSetup setup = SETUP;
    setup.started_by = start;
    setup.timed_by = timing;
    return setup;
}

/* A belt that is a tenth slow: by the timer 1.8 s bring the pack 0.81 m far, 0.09 m short of the
 * device, which is more than the half pack of 0.055 m: the blow meets the gap. The encoder counts
 * 870 mm, and the half stroke of 0.06 s brings 27 mm more: 897 mm, 3 mm short. From the eye it is
 * 0.55 m + 0.655 m = 1205 mm: the timer's 2.41 s bring 1084.5 mm. A tenth fast, the pack is as far
 * past the device. */
static void test_belt_speed(void **state)
{
    static const struct {
        LineStart start;
        LineTiming timing;
        int64_t mm_s;
        bool is_removed;
    } rows[] = {
        {LINE_BY_SIGNAL, LINE_TIMER, 500, true},    {LINE_BY_SIGNAL, LINE_TIMER, 450, false},
        {LINE_BY_SIGNAL, LINE_ENCODER, 450, true},  {LINE_BY_EYE, LINE_TIMER, 450, false},
        {LINE_BY_EYE, LINE_ENCODER, 450, true},     {LINE_BY_SIGNAL, LINE_TIMER, 550, false},
        {LINE_BY_SIGNAL, LINE_ENCODER, 1000, true}, {LINE_BY_SIGNAL, LINE_TIMER, 475, true},
    };
    static Story story;
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        LineTrouble trouble = {.belt_um_s = rows[i].mm_s * 1000};
        send_one(setup_of(rows[i].start, rows[i].timing), &trouble, &story);
        int kept = count_of(&story, LINE_REMOVED, 1);
        if (kept != rows[i].is_removed) fail_msg("row %zu: removed %d", i, kept);
        assert_int_equal(count_of(&story, LINE_BLOW_IN_GAP, -1), !rows[i].is_removed);
        /* 375 + 1200 mm to the coils at the true speed */
        assert_about(time_of(&story, LINE_ALARM, 1), 1575 * S / rows[i].mm_s);
    }
}

/* The speed changes under way: 1 s at 500 mm/s and the rest at 250 mm/s. */
static void test_belt_speed_changes(void **state)
{
    static Story story;
    Bench bench;
    (void)state;
    bench_init(&bench, &SETUP, 1e-15, 3.0, 1);
    lay(bench.line, pack_with_ball(1, 0.0));
    story.count = 0;
    go(bench.line, 1 * S, &story);
    line_set_trouble(bench.line, &(LineTrouble){.belt_um_s = 250000});
    go(bench.line, 20 * S, &story);
    assert_about(time_of(&story, LINE_ALARM, 1), 1 * S + (1575 - 500) * S / 250);
    bench_clear(&bench);
}

/* A dirty eye sees the pack so much later, and so is the blow: half a pack is 55 mm. A line that is
 * started by the signal does not care. */
static void test_eye_dirty(void **state)
{
    static Story story;
    (void)state;
    for (int64_t late_mm = 0; late_mm <= 100; late_mm += 50) {
        LineTrouble trouble = {.eye_late_um = late_mm * 1000};
        send_one(SETUP, &trouble, &story);
        assert_int_equal(count_of(&story, LINE_REMOVED, 1), late_mm < 55);
        assert_about(time_of(&story, LINE_BLOW, -1),
                     time_of(&story, LINE_ALARM, 1) + 1740 * MS + 2 * late_mm * MS);
        send_one(setup_of(LINE_BY_SIGNAL, LINE_TIMER), &trouble, &story);
        assert_int_equal(count_of(&story, LINE_REMOVED, 1), 1);
    }
}

/* A covered eye, a lost encoder, a device that is off: the alarm rings, and no blow comes where the
 * line needs what is gone. */
static void test_no_blow(void **state)
{
    static const struct {
        const char *name;
        LineTrouble trouble;
        LineStart start;
        LineTiming timing;
        int alarms, blows, removed;
    } rows[] = {
        {"eye covered", {.eye_covered = true}, LINE_BY_EYE, LINE_ENCODER, 1, 0, 0},
        {"eye not needed", {.eye_covered = true}, LINE_BY_SIGNAL, LINE_ENCODER, 1, 1, 1},
        {"encoder lost", {.encoder_lost = true}, LINE_BY_EYE, LINE_ENCODER, 1, 0, 0},
        {"encoder not needed", {.encoder_lost = true}, LINE_BY_EYE, LINE_TIMER, 1, 1, 1},
        {"off", {.reject_off = true}, LINE_BY_EYE, LINE_ENCODER, 1, 0, 0},
        {"no air", {.air_shut = true}, LINE_BY_EYE, LINE_ENCODER, 1, 1, 0},
        {"head bypassed", {.head_bypassed = true}, LINE_BY_EYE, LINE_ENCODER, 0, 0, 0},
        {"sensor dead, no monitor", {.confirmation_lost = true}, LINE_BY_EYE, LINE_TIMER, 1, 1, 1},
    };
    static Story story;
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        send_one(setup_of(rows[i].start, rows[i].timing), &rows[i].trouble, &story);
        if (count_of(&story, LINE_ALARM, 1) != rows[i].alarms ||
            count_of(&story, LINE_BLOW, -1) != rows[i].blows ||
            count_of(&story, LINE_REMOVED, 1) != rows[i].removed ||
            count_of(&story, LINE_PASSED, 1) != !rows[i].removed) {
            fail_msg("%s: %d alarms, %d blows", rows[i].name, count_of(&story, LINE_ALARM, 1),
                     count_of(&story, LINE_BLOW, -1));
        }
    }
}

/* An encoder that comes back counts on: what it missed is missing. 0.2 s lost after the alarm are
 * 100 mm: the blow comes 100 mm late. */
static void test_encoder_returns(void **state)
{
    static Story story;
    Bench bench;
    (void)state;
    bench_init(&bench, &SETUP, 1e-15, 3.0, 1);
    lay(bench.line, pack_with_ball(1, 0.0));
    story.count = 0;
    go(bench.line, 4 * S, &story);
    line_set_trouble(bench.line, &(LineTrouble){.encoder_lost = true});
    go(bench.line, 4200 * MS, &story);
    line_set_trouble(bench.line, &(LineTrouble){0});
    go(bench.line, 20 * S, &story);
    assert_about(time_of(&story, LINE_BLOW, -1), time_of(&story, LINE_ALARM, 1) + 1940 * MS);
    assert_int_equal(count_of(&story, LINE_BLOW_IN_GAP, -1), 1);
    bench_clear(&bench);
}

/* The stroke begins 0.06 s before the pack's centre is there. The front of the next pack runs into
 * a device that is still out (375 - 55) / 500 = 0.64 s after that moment, so it takes a stroke of
 * over 0.70 s to push the neighbour off, and of over 0.70 + 0.75 s for the second. */
static void test_stroke_long(void **state)
{
    static const struct {
        int64_t stroke_ms;
        int removed;
    } rows[] = {{120, 1}, {50, 1}, {699, 1}, {701, 2}, {1449, 2}, {1451, 3}};
    static Story story;
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Bench bench;
        bench_init(&bench, &SETUP, 1e-15, 3.0, 1);
        line_feed(bench.line, true);
        line_set_trouble(bench.line, &(LineTrouble){.stroke_us = rows[i].stroke_ms * MS});
        lay(bench.line, pack_with_ball(1, 0.0));
        story.count = 0;
        go(bench.line, 12 * S, &story);
        assert_int_equal(count_of(&story, LINE_REMOVED, -1), rows[i].removed);
        assert_int_equal(count_of(&story, LINE_REMOVED, 1), 1);
        assert_int_equal(count_of(&story, LINE_BLOW, -1), 1);
        assert_int_equal(count_of(&story, LINE_BLOW_IN_GAP, -1), 0);
        if (rows[i].removed > 1) {
            assert_about(time_of(&story, LINE_REMOVED, 0),
                         time_of(&story, LINE_REMOVED, 1) + 640 * MS);
        }
        bench_clear(&bench);
    }
}

/* A tank for two blows that takes 2 s to fill by one. Packs come 0.75 s apart: two blows leave
 * 0.75 s worth of air, the third comes at 1.5 s and has no force; it lets that out, and 2 s later
 * there is enough for one more. */
static void test_low_air(void **state)
{
    static Story story;
    Bench bench;
    (void)state;
    bench_init(&bench, &SETUP, 1e-15, 3.0, 1);
    line_set_trouble(bench.line, &(LineTrouble){.air_blows = 2, .air_blow_us = 2 * S});
    for (int n = 1; n <= 3; n++) {
        lay(bench.line, pack_with_ball(n, 0.0));
    }
    story.count = 0;
    go(bench.line, 4 * S, &story);
    lay(bench.line, pack_with_ball(4, 0.0)); /* on the belt at 4.5 s, 2.25 s behind pack 3 */
    go(bench.line, 20 * S, &story);
    static const bool is_removed[] = {false, true, true, false, true};
    for (int n = 1; n <= 4; n++) {
        assert_int_equal(count_of(&story, LINE_REMOVED, n), is_removed[n]);
        assert_int_equal(count_of(&story, LINE_BLOW_WEAK, n), !is_removed[n]);
        assert_int_equal(count_of(&story, LINE_PASSED, n), !is_removed[n]);
    }
    bench_clear(&bench);
}

/* Each monitor stops the belt when its next pitch has gone by, and only the one that the line has.
 */
static void test_monitors(void **state)
{
    static const struct {
        LineMonitor monitor;
        LineTrouble trouble;
    } rows[] = {
        {LINE_MONITOR_CONFIRMATION, {.confirmation_lost = true}},
        {LINE_MONITOR_CONFIRMATION, {.bin_missing = true}},
        {LINE_MONITOR_CONFIRMATION, {.air_shut = true}},
        {LINE_MONITOR_BIN_FULL, {.bin_seems_full = true}},
        {LINE_MONITOR_BIN_OPEN, {.bin_open = true}},
        {LINE_MONITOR_BIN_OPEN, {.bin_missing = true}},
        {LINE_MONITOR_AIR, {.air_shut = true}},
        {LINE_MONITOR_EYE, {.eye_covered = true}},
        {LINE_MONITOR_ENCODER, {.encoder_lost = true}},
    };
    static Story story;
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (int m = 0; m < LINE_MONITOR_COUNT; m++) {
            bool watches = m == (int)rows[i].monitor;
            LineSetup setup = SETUP;
            setup.monitors[m] = true;
            send_one(setup, &rows[i].trouble, &story);
            if (!watches) continue;
            LineEvent stop = event_of(&story, LINE_STOPPED_SELF, 0);
            assert_int_equal(stop.monitor, m);
            assert_int_equal(count_of(&story, LINE_STOPPED_SELF, -1), 1);
            /* the first place at pitch; for the confirmation, the strike is at 0.75 + 2.4 + 1.8 =
             * 4.95 s and the next place comes by at 5.25 s */
            assert_int_equal(stop.time_us, m == LINE_MONITOR_CONFIRMATION ? 5250 * MS : 750 * MS);
        }
        send_one(SETUP, &rows[i].trouble, &story);
        assert_int_equal(count_of(&story, LINE_STOPPED_SELF, -1), 0);
    }
    LineSetup all = SETUP;
    for (int m = 0; m < LINE_MONITOR_COUNT; m++) {
        all.monitors[m] = true;
    }
    send_one(all, &(LineTrouble){0}, &story);
    assert_int_equal(count_of(&story, LINE_STOPPED_SELF, -1), 0);
    assert_int_equal(count_of(&story, LINE_REMOVED, 1), 1);
}

static void test_bin_missing_and_filled(void **state)
{
    static Story story;
    Bench bench;
    (void)state;
    bench_init(&bench, &SETUP, 1e-15, 3.0, 1);
    line_fill_bin(bench.line, 39);
    for (int n = 1; n <= 3; n++) {
        lay(bench.line, pack_with_ball(n, 0.0));
    }
    story.count = 0;
    go(bench.line, 20 * S, &story); /* there is room for one of the three */
    assert_int_equal(count_of(&story, LINE_REMOVED, 1), 1);
    assert_int_equal(count_of(&story, LINE_BIN_FULL, -1), 2);
    line_set_trouble(bench.line, &(LineTrouble){.bin_missing = true});
    lay(bench.line, pack_with_ball(4, 0.0));
    go(bench.line, 40 * S, &story);
    assert_int_equal(count_of(&story, LINE_FELL, 4), 1);
    assert_int_equal(line_where(bench.line, 4), LINE_ON_FLOOR);
    LineCounts counts = line_counts(bench.line);
    assert_int_equal(counts.tests_on_floor, 1);
    assert_int_equal(counts.blown, 2);
    assert_int_equal(counts.made, 39);
    assert_int_equal(line_scrap_bin(bench.line), 39);
    assert_true(line_take(bench.line, 4));
    assert_int_equal(line_counts(bench.line).tests_on_floor, 0);
    bench_clear(&bench);
}

/* Half the gain is half the signal: the ball of ratio 3 has 1.5. Thirty times the noise trips for
 * many a good pack at a rate that was 1e-15 a look: ln p goes with the square of the limit over the
 * noise, so that p is 1e-15 to the power of 1/900, 0.96. */
static void test_head_cold(void **state)
{
    static Story story;
    Bench bench;
    (void)state;
    bench_init(&bench, &SETUP, 1e-15, 3.0, 1);
    bench.shown.gain_percent = 50;
    line_set_head(bench.line, &bench.shown);
    lay(bench.line, pack_with_ball(1, 0.0));
    story.count = 0;
    go(bench.line, 10 * S, &story);
    assert_int_equal(first(&story, LINE_JUDGED, 1).ratio_milli, 1500);
    bench.shown.noise_percent = 3000;
    line_set_head(bench.line, &bench.shown);
    line_feed(bench.line, true);
    story.count = 0;
    go(bench.line, 85 * S, &story); /* the head looks at 97 or 98 packs */
    int found = count_of(&story, LINE_JUDGED, 0);
    assert_true(found >= 85 && found <= 98);
    bench_clear(&bench);
}

/* A pack sticks with its centre at the coils; each next one stops 110 mm behind the one before. The
 * third covers from -165 to -275 mm, and so the eye at -250 mm. */
static void test_jam(void **state)
{
    static Story story;
    LineSetup setup = SETUP;
    Bench bench;
    (void)state;
    setup.monitors[LINE_MONITOR_EYE] = true;
    bench_init(&bench, &setup, 1e-15, 3.0, 1);
    line_feed(bench.line, true);
    story.count = 0;
    go(bench.line, 4 * S, &story); /* the first good pack is 425 mm past the coils */
    lay(bench.line, pack_with_ball(1, 0.0));
    line_set_trouble(bench.line, &(LineTrouble){.is_jammed = true});
    go(bench.line, 60 * S, &story);
    assert_int_equal(time_of(&story, LINE_JAMMED, 0), 4650 * MS); /* the third, of 2.25 s */
    LineCounts counts = line_counts(bench.line);
    assert_int_equal(counts.good_in_jam + counts.tests_in_jam, 3);
    assert_false(line_is_running(bench.line));
    assert_int_equal(first(&story, LINE_STOPPED_SELF, -1).monitor, LINE_MONITOR_EYE);
    int64_t made = counts.made;
    assert_int_equal(made, counts.good_on_belt + counts.good_in_jam + counts.good_on_pallet);
    line_set_trouble(bench.line, &(LineTrouble){0});
    assert_int_equal(line_clear_jam(bench.line), 3);
    assert_int_equal(line_counts(bench.line).made, made - counts.good_in_jam);
    line_run(bench.line, true);
    go(bench.line, 80 * S, &story);
    assert_int_equal(count_of(&story, LINE_STOPPED_SELF, -1), 1);
    assert_true(line_counts(bench.line).good_on_pallet > 10);
    bench_clear(&bench);
}

/* Without the monitor packs stick until there is no room at the infeed: from the coils back to
 * -1200 mm, 11 packs reach to -1155 mm; the twelfth, pushed on behind them, covers the infeed. */
static void test_jam_fills_the_belt(void **state)
{
    static Story story;
    Bench bench;
    (void)state;
    bench_init(&bench, &SETUP, 1e-15, 3.0, 1);
    line_feed(bench.line, true);
    line_set_trouble(bench.line, &(LineTrouble){.is_jammed = true});
    story.count = 0;
    go(bench.line, 60 * S, &story);
    LineCounts counts = line_counts(bench.line);
    assert_int_equal(counts.good_in_jam, 12);
    assert_int_equal(counts.good_on_belt, 0);
    assert_int_equal(counts.made, 12);
    assert_int_equal(count_of(&story, LINE_JAMMED, 0), 1); /* only the first is told */
    bench_clear(&bench);
}

/* Metal in a belt of 5 m comes by the coils after 2.5 m, at 5 s, and then every 10 s: the pack that
 * is nearest goes, or on an empty belt nothing. */
static void test_metal_in_belt(void **state)
{
    static Story story;
    Bench bench;
    (void)state;
    bench_init(&bench, &SETUP, 1e-15, 3.0, 1);
    line_set_joint(bench.line, 5000000, &BALL);
    story.count = 0;
    go(bench.line, 40 * S, &story);
    assert_int_equal(count_of(&story, LINE_ALARM, 0), 4);
    assert_int_equal(count_of(&story, LINE_BLOW, -1), 0); /* the tracker knows of no pack */
    for (int n = 0; n < 4; n++) {
        assert_about(event_of(&story, LINE_ALARM, n).time_us, 5 * S + (int64_t)n * 10 * S);
    }
    line_feed(bench.line, true);
    go(bench.line, 60 * S, &story);
    story.count = 0;
    go(bench.line, 160 * S, &story);
    assert_int_equal(count_of(&story, LINE_ALARM, 0), 10);
    assert_int_equal(count_of(&story, LINE_REMOVED, 0), 10);
    line_set_joint(bench.line, 0, NULL);
    go(bench.line, 163 * S, &story);
    story.count = 0;
    go(bench.line, 200 * S, &story);
    assert_int_equal(count_of(&story, LINE_ALARM, -1), 0);
    bench_clear(&bench);
}

/* The third good pack has metal in it: it is found and goes into the bin, its neighbours do not; a
 * bypassed head lets it onto the pallet. */
static void test_contaminant(void **state)
{
    static Story story;
    (void)state;
    for (int bypassed = 0; bypassed < 2; bypassed++) {
        Bench bench;
        bench_init(&bench, &SETUP, 1e-15, 3.0, 1);
        line_set_trouble(bench.line, &(LineTrouble){.head_bypassed = bypassed});
        assert_int_equal(line_contaminate(bench.line, 3, &BALL), 1);
        assert_int_equal(line_find_where(bench.line, 1), LINE_ON_INFEED);
        line_feed(bench.line, true);
        story.count = 0;
        go(bench.line, 20 * S, &story);
        assert_int_equal(count_of(&story, LINE_REMOVED, 0), !bypassed);
        assert_int_equal(line_find_where(bench.line, 1), bypassed ? LINE_ON_PALLET : LINE_IN_BIN);
        LineEvent judged = first(&story, LINE_JUDGED, 0);
        assert_int_equal(judged.find, 1);
        assert_int_equal(judged.time_us, 2250 * MS + 2400 * MS - 710 * MS);
        assert_int_equal(judged.ratio_milli, bypassed ? 0 : 3000);
        if (!bypassed) assert_int_equal(line_scrap_bin(bench.line), 1);
        if (!bypassed) assert_int_equal(line_find_where(bench.line, 1), LINE_NOWHERE);
        bench_clear(&bench);
    }
}

/* Good packs laid by hand take places like test packs: bad, good, bad, good without any feed. */
static void test_good_pack_by_hand(void **state)
{
    static Story story;
    Bench bench;
    (void)state;
    bench_init(&bench, &SETUP, 1e-15, 3.0, 1);
    lay(bench.line, pack_with_ball(1, 0.0));
    lay(bench.line, (LineTestPack){0});
    lay(bench.line, pack_with_ball(2, 0.0));
    lay(bench.line, (LineTestPack){0});
    story.count = 0;
    go(bench.line, 20 * S, &story);
    assert_int_equal(count_of(&story, LINE_REMOVED, -1), 2);
    assert_int_equal(count_of(&story, LINE_GOOD_AT_END, 0), 2);
    assert_int_equal(time_of(&story, LINE_PACK_ON_BELT, 2), 2250 * MS);
    assert_int_equal(line_counts(bench.line).made, 2);
    bench_clear(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_belt_speed),
        cmocka_unit_test(test_belt_speed_changes),
        cmocka_unit_test(test_eye_dirty),
        cmocka_unit_test(test_no_blow),
        cmocka_unit_test(test_encoder_returns),
        cmocka_unit_test(test_stroke_long),
        cmocka_unit_test(test_low_air),
        cmocka_unit_test(test_monitors),
        cmocka_unit_test(test_bin_missing_and_filled),
        cmocka_unit_test(test_head_cold),
        cmocka_unit_test(test_jam),
        cmocka_unit_test(test_jam_fills_the_belt),
        cmocka_unit_test(test_metal_in_belt),
        cmocka_unit_test(test_contaminant),
        cmocka_unit_test(test_good_pack_by_hand),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
