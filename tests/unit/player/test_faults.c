/* Each fault of the line as a scenario brings it on, on the example site: what the line does then,
 * by its own mechanics. Numbers are those of lines in common practice, no source; the arithmetic
 * stands beside them, and that of the line itself in tests/unit/line/test_trouble.c. */
#include "unit/player/rows.h"

#define THREE_BALLS                                                                                \
    MADE("1")                                                                                      \
    IN_PACK("FE-15-03", "1")                                                                       \
    MADE("2")                                                                                      \
    IN_PACK("NF-20-05", "2")                                                                       \
    MADE("3") IN_PACK("SS-25-07", "3") "stop\n" SENT("1") SENT("2") SENT("3") "start\n"
/* A ball in the middle of a loaf on B1, whose reject is started by the signal and timed by a timer:
 * 1300 mm at 500 mm/s are 2.6 s. */
#define LOAF_BALL                                                                                  \
    MADE("1")                                                                                      \
    "take piece=FE-20-04\nplace piece=FE-20-04 pack=1 along_um=0 across_um=0 "                     \
    "up_um=85000\n" SENT("1")

static const Row TIMING[] = {
    /* a tenth slow, 2.6 s bring the loaf 130 mm short of the pusher: half of it is 125 mm */
    {"timer, belt a tenth slow",
     {.line = "b1",
      .product = "loaf-800",
      .kit = ALL,
      .faults = FAULT("\"belt-speed\", \"percent\": 90")},
     LOAF_BALL "until accepted pack=1",
     "fault-set kind=belt-speed\nblow-in-gap\naccepted pack=1",
     "removed pack=1"},
    {"timer, belt a twentieth slow: 65 mm short is still the loaf",
     {.line = "b1",
      .product = "loaf-800",
      .kit = ALL,
      .faults = FAULT("\"belt-speed\", \"percent\": 95")},
     LOAF_BALL "until removed pack=1",
     "blow\nremoved pack=1",
     "accepted pack=1"},
    {"encoder, belt at half its speed",
     {.faults = FAULT("\"belt-speed\", \"percent\": 50")},
     BALL("1") "until removed pack=1",
     "blow\nremoved pack=1",
     "accepted pack=1"},
    {"encoder lost",
     {.faults = FAULT("\"encoder-lost\"")},
     BALL("1") "until accepted pack=1",
     "alarm pack=1\naccepted pack=1",
     "blow"},
    /* half a pack of butter is 55 mm */
    {"dirty eye, 50 mm late",
     {.faults = FAULT("\"eye-dirty\", \"late_mm\": 50")},
     BALL("1") "until removed pack=1",
     "blow\nremoved pack=1",
     NULL},
    {"dirty eye, 60 mm late: the blow meets the gap",
     {.faults = FAULT("\"eye-dirty\", \"late_mm\": 60")},
     BALL("1") "until accepted pack=1",
     "alarm pack=1\nblow\naccepted pack=1\nblow-in-gap",
     NULL},
    /* At the trip the eye has not seen the pack yet. To the tracker the one before, 375 mm in
     * front, is 330 mm behind that: 45 mm off the coils, so that the blow meets the pack after
     * all. */
    {"dirty eye, 330 mm late: the tracker takes the pack for the one before",
     {.fed = true, .faults = FAULT("\"eye-dirty\", \"late_mm\": 330")},
     "until good-run\n" BALL("1") "until removed pack=1",
     "alarm pack=1\nremoved pack=1",
     "removed pack=0"},
    {"blocked eye: the alarm rings, and nothing comes of it",
     {.faults = FAULT("\"eye-blocked\"")},
     BALL("1") "until accepted pack=1",
     "judged pack=1 found=yes\nalarm pack=1\naccepted pack=1",
     "blow"},
};

static void test_timing(void **state)
{
    CHECK_ROWS(state, TIMING);
}

/* Line B4 has two lanes: 175 mm each, for packs of 90 mm. */
#define LANES(more)                                                                                \
    {                                                                                              \
        .line = "b4", .product = "crispbread-200", .kit = LANE_KIT, more                           \
    }
#define LANES_FED(fault)                                                                           \
    {                                                                                              \
        .line = "b4", .product = "crispbread-200", .kit = LANE_KIT, .fed = true, .faults = (fault) \
    }
#define LANE_KIT "\"FE-15-08\", \"NF-20-09\", \"SS-25-04\""
#define LANE_BALL(pack, lane)                                                                      \
    MADE(pack)                                                                                     \
    "take piece=FE-15-08\nplace piece=FE-15-08 pack=" pack                                         \
    " along_um=0 across_um=0 up_um=40000\nsend pack=" pack " lane=" lane " across_um=0\n"

static const Row IN_LANES[] = {
    {"a lane is named, and one that is there", LANES(.minutes = 5),
     MADE("1") "send pack=1 across_um=0\nsend pack=1 lane=3 across_um=0\nsend pack=1 lane=2 "
               "across_um=42501\nsend-good\nsend-good lane=2\nsend pack=1 lane=2 "
               "across_um=42500",
     "not-possible why=no-such-lane\nnot-possible why=no-such-lane\n"
     "not-possible why=pack-beside-belt\nnot-possible why=no-such-lane\n"
     "good-pack-sent lane=2\npack-sent pack=1 lane=2",
     NULL},
    {"the good pack beside goes too, and the check has not failed", LANES(.fed = true),
     LANE_BALL("1", "2") "until removed pack=1\nuntil removed pack=0\nwrite row=result "
                         "value=failed\nwrite row=chrome-steel/middle/2 value=removed\nwrite "
                         "row=chrome-steel/middle value=removed\nwrite row=chrome-steel/middle/3 "
                         "value=removed",
     "piece-sent pack=1 lane=2 centre=yes\nrow-written row=result truth=ahead\n"
     "row-written row=chrome-steel/middle/2 truth=true\nnot-possible why=no-such-row\n"
     "not-possible why=no-such-row",
     "removed beside=1"},
    {"a dead lane: the alarm rings, the good pack beside goes, and the metal does not",
     LANES_FED(FAULT("\"lane-dead\", \"lane\": 2")),
     LANE_BALL("1", "2") "until accepted pack=1\nwrite row=result value=failed",
     "fault-set kind=lane-dead\nalarm pack=1\nblow lane=1\nremoved pack=0 lane=1 beside=2\n"
     "accepted pack=1 lane=2\nrow-written row=result truth=true",
     "blow lane=2"},
    {"its other lane works", LANES(.faults = FAULT("\"lane-dead\", \"lane\": 2")),
     LANE_BALL("1", "1") "until removed pack=1", "blow lane=1\nremoved pack=1 lane=1", NULL},
    {"a dead lane is repaired", LANES(.faults = FAULT("\"lane-dead\", \"lane\": 2")),
     "stop\n" CALLED("maintenance") "ask who=maintenance for=repair\nuntil "
                                    "repaired\nstart\n" LANE_BALL("1", "2") "until removed pack=1",
     "repaired fault=lane-dead\nremoved pack=1 lane=2", NULL},
};

static void test_lanes(void **state)
{
    CHECK_ROWS(state, IN_LANES);
}

static const Row REJECT[] = {
    {"reject off",
     {.faults = FAULT("\"reject-off\"")},
     BALL("1") "until accepted pack=1",
     "fault-set kind=reject-off\nalarm pack=1\naccepted pack=1",
     "blow"},
    {"left in test mode",
     {.faults = FAULT("\"test-mode\"")},
     BALL("1") "until accepted pack=1",
     "fault-set kind=test-mode\nalarm pack=1\naccepted pack=1",
     "blow"},
    {"low air: the third of three back to back stays on the belt",
     {.faults = FAULT("\"low-air\", \"blows\": 2, \"fills_one_in_ms\": 2000")},
     THREE_BALLS "until accepted",
     "removed pack=1\nremoved pack=2\nblow-weak pack=3\naccepted pack=3",
     "accepted pack=1"},
    {"low air: singles pass",
     {.faults = FAULT("\"low-air\", \"blows\": 2, \"fills_one_in_ms\": 2000")},
     BALL("1") "until removed pack=1\n" MADE("2") IN_PACK("NF-20-05", "2")
         SENT("2") "until "
                   "removed pack=2\n" MADE("3") IN_PACK("SS-25-07", "3")
                       SENT("3") "until removed pack=3",
     "removed pack=1\nremoved pack=2\nremoved pack=3",
     "blow-weak"},
    /* the front of the neighbour is there (375 - 55) / 500 = 0.64 s after the middle of the set
     * stroke, which began 0.06 s before */
    {"timer long: the good neighbour is pushed off too",
     {.fed = true, .faults = FAULT("\"stroke-long\", \"stroke_ms\": 750")},
     "until good-run\n" BALL("1") "until removed pack=0",
     "removed pack=1 pieces=1\nremoved pack=0 pieces=0",
     "blow-in-gap"},
    {"timer a little long: nothing runs into it",
     {.fed = true, .faults = FAULT("\"stroke-long\", \"stroke_ms\": 650")},
     "until good-run\n" BALL("1") "until removed pack=1\n+3s read-program",
     "removed pack=1",
     "removed pack=0"},
    {"bin filled before",
     {.faults = FAULT("\"bin-filled\", \"packs\": 39")},
     THREE_BALLS "until accepted pack=3\nstop\nlock-off\nopen-bin by=line-leader",
     "removed pack=1\nbin-full pack=2\naccepted pack=2\nbin-full pack=3\nbin-opened packs=40",
     NULL},
    {"bin missing: the pack lies on the floor",
     {.faults = FAULT("\"bin-missing\"")},
     BALL("1") "watch\nuntil fell-on-floor\nwrite row=chrome-steel/middle "
               "value=found-not-removed\nfetch pack=1\nwrite row=result value=failed",
     "alarm pack=1\nfell-on-floor pack=1 pieces=1 seen=yes\nrow-written truth=true\n"
     "pack-fetched pack=1 pieces=1 from=floor\nrow-written truth=true",
     "removed\nreached-in"},
    {"bin found unlocked is locked by closing it",
     {.faults = FAULT("\"bin-unlocked\"")},
     "close-bin\nclose-bin",
     "fault-set kind=bin-unlocked\nbin-closed\nnot-possible "
     "why=bin-is-locked",
     NULL},
};

static void test_reject(void **state)
{
    CHECK_ROWS(state, REJECT);
}

static const Row HEAD[] = {
    {"head bypassed",
     {.faults = FAULT("\"head-bypassed\"")},
     BALL("1") "until accepted pack=1",
     "judged pack=1 found=no ratio_milli=0\naccepted pack=1",
     "alarm"},
    /* found with a ratio of 1.5 to 1.7 when warm */
    {"cold head: half the signal",
     {.faults = FAULT("\"head-cold\", \"signal_percent\": 50, \"noise_percent\": 100")},
     BALL("1") "until accepted pack=1",
     "judged pack=1 found=no\naccepted pack=1 pieces=1",
     "alarm pack=1"},
    {"cold head: ten times the noise",
     {.fed = true,
      .faults = FAULT("\"head-cold\", \"signal_percent\": 100, \"noise_percent\": 1000")},
     "until removed pack=0\nuntil removed pack=0",
     "alarm pack=0\nremoved pack=0 pieces=0",
     NULL},
    {"one pack in three across the belt: it is not what was learned",
     {.fed = true, .faults = FAULT("\"packs-turned\", \"every\": 3")},
     "until removed pack=0\nuntil removed pack=0",
     "judged pack=0 found=yes\nremoved pack=0 pieces=0",
     NULL},
    {"butter at 4 C, as it was learned",
     {.fed = true, .faults = FAULT("\"product-temperature\", \"temperature_c\": 4")},
     "+60s read-program",
     "program-read",
     "alarm"},
    {"butter at 80 C, whose signal is 2.2 / 0.68 as large",
     {.fed = true, .faults = FAULT("\"product-temperature\", \"temperature_c\": 80")},
     "until removed pack=0",
     "alarm pack=0\nremoved pack=0 pieces=0",
     NULL},
    {"thawed: as it conducts then",
     {.fed = true,
      .faults = FAULT("\"product-temperature\", \"temperature_c\": 5, "
                      "\"conductivity_s_per_m\": 0.5")},
     "until removed pack=0",
     "alarm pack=0\nremoved pack=0 pieces=0",
     NULL},
    {"thawed half: three quarters of the change",
     {.fed = true,
      .faults = FAULT("\"product-temperature\", \"temperature_c\": 4, "
                      "\"conductivity_s_per_m\": 0.5, \"thawed_percent\": 50")},
     "until removed pack=0",
     "alarm pack=0\nremoved pack=0 pieces=0",
     NULL},
    {"thawed at the surface: nearly as it was learned",
     {.fed = true,
      .faults = FAULT("\"product-temperature\", \"temperature_c\": 4, "
                      "\"conductivity_s_per_m\": 0.5, \"thawed_percent\": 1")},
     "+60s read-program",
     "program-read",
     "alarm"},
    /* a belt of 4 m at 0.5 m/s: every 8 s */
    {"metal in the belt joint",
     {.fed = true,
      .faults = FAULT("\"metal-in-belt\", \"metal\": \"chrome-steel\", \"diameter_mm\": "
                      "2.5, \"belt_mm\": 4000")},
     "until removed pack=0\nuntil removed pack=0\nuntil removed pack=0",
     "alarm pack=0\nremoved pack=0 pieces=0\nremoved pack=0\nremoved pack=0",
     NULL},
    {"a sliver in the sixth good pack is removed",
     {.fed = true,
      .faults = FAULT("\"contaminant\", \"metal\": \"carbon-steel\", \"diameter_mm\": 1, "
                      "\"length_mm\": 9, \"at_pack\": 6")},
     "until removed\nwrite row=result value=failed",
     "judged pack=0 found=yes\nremoved pack=0 pieces=1\nrow-written truth=ahead",
     "metal-escaped\nremoved pack=0 pieces=0"},
    {"the same past a bypassed head is on the pallet",
     {.fed = true,
      .faults = FAULT("\"contaminant\", \"metal\": \"carbon-steel\", \"diameter_mm\": 1, "
                      "\"length_mm\": 9, \"at_pack\": 6") "," FAULT("\"head-bypassed\"")},
     "until metal-escaped",
     "judged pack=0 found=no\nmetal-escaped find=1",
     "removed"},
    {"a jam in the aperture",
     {.fed = true, .faults = FAULT("\"jam\"")},
     "until jammed\n" BALL("1") "until jammed pack=1\nfetch pack=1",
     "jammed pack=0\njammed pack=1\nreached-in what=aperture\npack-fetched from=aperture",
     "removed\naccepted"},
};

static void test_head(void **state)
{
    CHECK_ROWS(state, HEAD);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lanes),
        cmocka_unit_test(test_timing),
        cmocka_unit_test(test_reject),
        cmocka_unit_test(test_head),
    };
    return cmocka_run_group_tests(tests, read_base, end_base);
}
