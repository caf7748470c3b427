/* Each action's right use and each refusal, the faults, the turned wire, rows of the sheet,
 * holds and releases: short scripts and the happenings that they must bring, in their order.
 * Lines and pieces are the example site's: D1 blows with the air jet 900 mm behind the coils, by
 * eye and encoder. */
#include "unit/player/rows.h"

static const Row HANDS[] = {
    {"inspect a right piece", USUAL, "inspect piece=SS-25-07",
     "piece-read piece=SS-25-07 metal=stainless-316 diameter_um=2500 state=sound "
     "good_until=2027-03-31 right=yes",
     "not-possible"},
    {"inspect wrong pieces: size, state, date", USUAL,
     "inspect piece=SS-45-02\ninspect piece=NF-20-01\ninspect piece=FE-15-01",
     "piece-read piece=SS-45-02 right=no\npiece-read piece=NF-20-01 state=cracked right=no\n"
     "piece-read piece=FE-15-01 good_until=2025-12-31 right=no",
     NULL},
    {"a piece that is not in the kit", USUAL, "take piece=FE-20-04",
     "take\nnot-possible why=piece-not-there", NULL},
    {"take and put back", USUAL, "take piece=SS-25-07\nput-back piece=SS-25-07",
     "piece-taken piece=SS-25-07\npiece-put-back piece=SS-25-07", "not-possible"},
    {"two pieces in the hand", USUAL, "take piece=SS-25-07\ntake piece=NF-20-05",
     "piece-taken\nnot-possible why=hand-is-full", NULL},
    {"take what is in a pack", USUAL, MADE("1") IN_PACK("FE-15-03", "1") "take piece=FE-15-03",
     "piece-placed\nnot-possible why=piece-not-in-kit", NULL},
    {"put back what is not in the hand", USUAL, "put-back piece=SS-25-07",
     "not-possible why=piece-not-in-hand", NULL},
    {"a pack is made once", USUAL,
     MADE("9") "make-pack pack=9 marked=no\nmake-pack pack=2 "
               "marked=no",
     "pack-made pack=9 marked=yes\nnot-possible why=pack-is-there\npack-made pack=2 marked=no",
     NULL},
    /* the pack is 110 mm long: an end begins a quarter of that, 27.5 mm, from the middle; the
     * top is at 40 mm, and 3 mm still touch it */
    {"spots and heights", USUAL,
     MADE("1") "take piece=FE-15-03\nplace piece=FE-15-03 pack=1 along_um=27500 across_um=0 "
               "up_um=3000\nfind piece=FE-15-03\nplace piece=FE-15-03 pack=1 along_um=27501 "
               "across_um=0 up_um=3001\nfind piece=FE-15-03\nplace piece=FE-15-03 pack=1 "
               "along_um=-27500 across_um=0 up_um=36999\nfind piece=FE-15-03\nplace "
               "piece=FE-15-03 pack=1 along_um=-27501 across_um=0 up_um=37000",
     "piece-placed spot=middle height=underneath\npiece-found pack=1 from=table\n"
     "piece-placed spot=leading height=inside\npiece-placed spot=middle height=inside\n"
     "piece-placed spot=trailing height=on-top",
     "not-possible"},
    {"place at the pack's edges", USUAL,
     MADE("1") "take piece=FE-15-03\nplace piece=FE-15-03 pack=1 along_um=55000 "
               "across_um=-35000 up_um=45000",
     "piece-placed spot=leading height=on-top", "not-possible"},
    {"place past each edge", USUAL,
     MADE("1") "take piece=FE-15-03\nplace piece=FE-15-03 pack=1 along_um=55001 across_um=0 "
               "up_um=0\nplace piece=FE-15-03 pack=1 along_um=0 across_um=-35001 up_um=0\n"
               "place piece=FE-15-03 pack=1 along_um=0 across_um=0 up_um=45001\nplace "
               "piece=FE-15-03 pack=1 along_um=0 across_um=0 up_um=-5001",
     "not-possible why=place-outside-pack\nnot-possible why=place-outside-pack\n"
     "not-possible why=place-outside-pack\nnot-possible why=place-outside-pack",
     "piece-placed"},
    {"place without the piece, without the pack", USUAL,
     "place piece=FE-15-03 pack=1 along_um=0 across_um=0 up_um=0\ntake piece=FE-15-03\n"
     "place piece=FE-15-03 pack=1 along_um=0 across_um=0 up_um=0",
     "not-possible why=piece-not-in-hand\nnot-possible why=pack-not-on-table", NULL},
    {"eight pieces in a pack, and one more",
     {.kit = ALL},
     MADE("1") IN_PACK("FE-15-03", "1") IN_PACK("NF-20-05", "1") IN_PACK("SS-25-07", "1")
         IN_PACK("SS-45-02", "1") IN_PACK("NF-20-01", "1") IN_PACK("FE-15-01", "1")
             IN_PACK("FE-20-04", "1") IN_PACK("NF-25-02", "1") IN_PACK("SS-30-06", "1"),
     "piece-placed piece=NF-25-02\nnot-possible why=pack-is-full",
     "piece-placed piece=SS-30-06"},
    {"turn in the kit, in the hand, in a pack on the table",
     {.kit = ALL},
     "turn piece=WIRE-12 azimuth_mdeg=90000 elevation_mdeg=0\ntake piece=WIRE-12\nturn "
     "piece=WIRE-12 azimuth_mdeg=0 elevation_mdeg=90000\n" MADE(
         "1") "place piece=WIRE-12 pack=1 along_um=0 across_um=0 up_um=0\nturn piece=WIRE-12 "
              "azimuth_mdeg=0 elevation_mdeg=0\n" SENT("1") "turn piece=WIRE-12 "
                                                            "azimuth_mdeg=0 elevation_mdeg=0",
     "piece-turned\npiece-turned\npiece-turned\npack-sent\nnot-possible why=piece-not-at-hand",
     NULL},
    {"find with a full hand, what lies in no pack, what is out of reach", USUAL,
     MADE("1") IN_PACK("FE-15-03", "1") "find piece=NF-20-05\ntake piece=NF-20-05\nfind "
                                        "piece=FE-15-03\nput-back piece=NF-20-05\n" SENT(
                                            "1") "find piece=FE-15-03",
     "not-possible why=piece-not-in-a-pack\nnot-possible why=hand-is-full\n"
     "not-possible why=piece-out-of-reach",
     "piece-found"},
    {"find in the open bin", USUAL, IN_BIN "find piece=FE-15-03",
     "locked-off\nbin-opened by=line-leader packs=1 agreed=yes\npiece-found pack=1 from=bin",
     "not-possible\nreached-in"},
    {"send what is not there, beside the belt", USUAL,
     "send pack=1 across_um=0\n" MADE("1") "send pack=1 across_um=115001\nsend pack=1 "
                                           "across_um=-115000",
     /* the aperture is 300 mm wide, the pack 70: (300 - 70) / 2 = 115 mm are free */
     "not-possible why=pack-not-on-table\nnot-possible why=pack-beside-belt\n"
     "pack-sent pack=1 pieces=0 proven=no",
     NULL},
    {"sent twice", USUAL, MADE("1") SENT("1") SENT("1"),
     "pack-sent\nnot-possible why=pack-not-on-table", NULL},
    {"proven once it was accepted without a piece", USUAL,
     MADE("1") SENT("1") "until on-pallet pack=1\nfetch pack=1\n" IN_PACK("SS-25-07", "1")
         SENT("1"),
     "pack-sent pieces=0 proven=no\naccepted pack=1 pieces=0\non-pallet\n"
     "pack-fetched pack=1 pieces=0 from=pallet\npack-sent pieces=1 proven=yes\n"
     "piece-sent piece=SS-25-07 metal=stainless-316 spot=middle height=on-top centre=yes "
     "right=yes program_right=yes\nremoved pack=1 pieces=1",
     "not-possible"},
    {"fetch from the infeed, the running and the standing belt", USUAL,
     MADE("1") SENT("1") "fetch pack=1\n" SENT("1") "until pack-on-belt\n+1s fetch pack=1\n" SENT(
         "1") "until pack-on-belt\n+1s stop\nfetch pack=1\nfetch pack=1",
     "pack-fetched from=infeed\nreached-in what=belt\npack-fetched from=belt\nline-stopped\n"
     "reached-in what=belt\npack-fetched from=belt\nnot-possible why=pack-not-there",
     "accepted"},
    {"fetch from the belt, locked off", USUAL,
     MADE("1") SENT("1") "until pack-on-belt\n+1s stop\nlock-off\nfetch pack=1",
     "locked-off\npack-fetched from=belt", "reached-in\nnot-possible"},
    {"fetch from infeed and pallet of a running line is no reaching in", USUAL,
     MADE("1") SENT("1") "fetch pack=1\n" SENT("1") "until on-pallet pack=1\nfetch pack=1",
     "pack-fetched from=infeed\npack-fetched from=pallet", "reached-in"},
    {"fetch from the bin, locked and open", USUAL,
     BINNED "fetch pack=1\nstop\nlock-off\nopen-bin by=line-leader\nfetch pack=1",
     "not-possible why=bin-is-locked\npack-fetched pack=1 pieces=1 from=bin", "reached-in"},
    {"destroy on the table, with its piece", USUAL,
     MADE("1") IN_PACK("FE-15-03", "1") "destroy pack=1\nfind piece=FE-15-03\ncount what=kit "
                                        "said=6\nmake-pack pack=1 marked=yes\ndestroy pack=1",
     "pack-destroyed pack=1 pieces=1\nnot-possible why=piece-not-in-a-pack\n"
     "counted what=kit said=6 is=5\nnot-possible why=pack-is-there\n"
     "not-possible why=pack-not-on-table",
     NULL},
    {"destroy in the open bin", USUAL, IN_BIN "destroy pack=1\ncount what=bin said=0",
     "pack-destroyed pack=1 pieces=1\ncounted what=bin is=0", "not-possible\nreached-in"},
};

static void test_hands(void **state)
{
    CHECK_ROWS(state, HANDS);
}

/* A hand in the bin or on the belt is in danger as long as the line is not locked off, running or
 * not: lock-out is common practice before reaching into machinery, no source. */
static const Row REACHED_IN[] = {
    {"open the bin of a running line", USUAL, "open-bin by=line-leader",
     "reached-in what=bin\nbin-opened", "not-possible"},
    {"open the bin of a line that only stands", USUAL, "stop\nopen-bin by=line-leader",
     "line-stopped\nreached-in what=bin\nbin-opened", "not-possible"},
    {"open the bin, locked off", USUAL,
     "stop\nlock-off\nopen-bin by=line-leader\nclose-bin\nopen-bin by=line-leader",
     "locked-off\nbin-opened\nbin-closed\nbin-opened", "reached-in\nnot-possible"},
    {"find in the bin", USUAL, IN_BIN_UNLOCKED "find piece=FE-15-03",
     "bin-opened\nreached-in what=bin\npiece-found from=bin", "not-possible"},
    {"fetch from the bin", USUAL, IN_BIN_UNLOCKED "fetch pack=1",
     "bin-opened\nreached-in what=bin\npack-fetched from=bin", "not-possible"},
    {"destroy in the bin", USUAL, IN_BIN_UNLOCKED "destroy pack=1",
     "bin-opened\nreached-in what=bin\npack-destroyed", "not-possible"},
    {"find, fetch and destroy in the bin of a running line", USUAL,
     IN_BIN "unlock\nstart\nfind piece=FE-15-03\nput-back piece=FE-15-03\nfetch pack=1\n" MADE("2")
         IN_PACK("NF-20-05", "2") SENT("2") "until removed pack=2\ndestroy pack=2",
     "line-started\nreached-in what=bin\npiece-found from=bin\nreached-in what=bin\n"
     "pack-fetched from=bin\nremoved pack=2\nreached-in what=bin\npack-destroyed pack=2",
     NULL},
    {"the own lock taken away with the bin still open", USUAL,
     IN_BIN "find piece=FE-15-03\nunlock\nfetch pack=1",
     "piece-found from=bin\nunlocked\nreached-in what=bin\npack-fetched from=bin", NULL},
    {"no hand goes in: refused, closed, counted, or off the line", USUAL,
     IN_BIN "unlock\ntake piece=NF-20-05\nfind piece=FE-15-03\nput-back piece=NF-20-05\nfetch "
            "pack=9\ndestroy pack=9\nopen-bin by=line-leader\ncount what=bin said=1\nclose-bin\n"
            "fetch pack=1\nfind piece=FE-15-03\ndestroy pack=1\n" MADE("2")
                IN_PACK("NF-20-05", "2") "find piece=NF-20-05\ndestroy pack=2",
     "not-possible why=hand-is-full\nnot-possible why=pack-not-there\n"
     "not-possible why=pack-not-on-table\nnot-possible why=bin-is-open\ncounted\nbin-closed\n"
     "not-possible why=bin-is-locked\nnot-possible why=piece-out-of-reach\n"
     "not-possible why=pack-not-on-table\npiece-found from=table\npack-destroyed pack=2",
     "reached-in"},
};

static void test_reached_in(void **state)
{
    CHECK_ROWS(state, REACHED_IN);
}

/* Where a piece lies well: in the middle third of the pack's length or the outer third of a half,
 * within 15 mm of the belt's middle, as high as the product wants it, and, inside, within 15 mm of
 * the aperture's axis (common practice, no source). Each at its limit and a micrometre past it. */
static const Row WELL_PLACED[] = {
    /* 110 mm long: 110 / 6 = 18.333, 110 / 3 = 36.666 */
    {"along the butter", USUAL,
     MADE("1") "stop\ntake piece=FE-15-03\n" LAID("FE-15-03", "18333", "0", "40000", "0") LAID(
         "FE-15-03", "18334", "0", "40000", "0") LAID("FE-15-03", "-18333", "0", "40000", "0")
         LAID("FE-15-03", "-18334", "0", "40000", "0") LAID("FE-15-03", "36666", "0", "40000", "0")
             LAID("FE-15-03", "36665", "0", "40000", "0")
                 LAID("FE-15-03", "-36666", "0", "40000", "0")
                     LAID("FE-15-03", "-36665", "0", "40000", "0")
                         LAID("FE-15-03", "55000", "0", "40000", "0"),
     CENTRE("middle", "yes") CENTRE("middle", "no") CENTRE("middle", "yes") CENTRE("middle", "no")
         CENTRE("leading", "yes") CENTRE("leading", "no") CENTRE("trailing", "yes")
             CENTRE("trailing", "no") CENTRE("leading", "yes"),
     "not-possible"},
    {"across the belt: the pack and the piece in it", USUAL,
     MADE("1") "stop\ntake piece=FE-15-03\n" LAID("FE-15-03", "0", "15000", "40000", "0") LAID(
         "FE-15-03", "0", "15001", "40000", "0") LAID("FE-15-03", "0", "-15000", "40000", "0")
         LAID("FE-15-03", "0", "-15001", "40000", "0") LAID("FE-15-03", "0", "0", "40000", "15000")
             LAID("FE-15-03", "0", "0", "40000", "15001")
                 LAID("FE-15-03", "0", "35000", "40000", "-50000")
                     LAID("FE-15-03", "0", "35000", "40000", "-50001"),
     CENTRE("middle", "yes") CENTRE("middle", "no") CENTRE("middle", "yes") CENTRE("middle", "no")
         CENTRE("middle", "yes") CENTRE("middle", "no") CENTRE("middle", "yes")
             CENTRE("middle", "no"),
     "not-possible"},
    /* on top alone is allowed; at 35 mm it would lie on the axis: 100 / 2 - 15 */
    {"height in the butter", USUAL,
     MADE("1") "stop\ntake piece=FE-15-03\n" LAID("FE-15-03", "0", "0", "37000", "0")
         LAID("FE-15-03", "0", "0", "36999", "0") LAID("FE-15-03", "0", "0", "35000", "0")
             LAID("FE-15-03", "0", "0", "0", "0") LAID("FE-15-03", "0", "0", "45000", "0"),
     "piece-sent height=on-top centre=yes\npiece-sent height=inside centre=no\npiece-sent "
     "height=inside centre=no\npiece-sent height=underneath centre=no\npiece-sent height=on-top "
     "centre=yes",
     "not-possible"},
    /* inside alone is allowed; the axis is 200 / 2 - 15 = 85 mm above the belt */
    {"height in the loaf",
     {.line = "b1", .product = "loaf-800", .kit = ALL},
     MADE("1") "stop\ntake piece=FE-20-04\n" LAID("FE-20-04", "0", "0", "70000", "0")
         LAID("FE-20-04", "0", "0", "69999", "0") LAID("FE-20-04", "0", "0", "100000", "0")
             LAID("FE-20-04", "0", "0", "100001", "0") LAID("FE-20-04", "0", "0", "110000", "0"),
     "piece-sent height=inside centre=yes\npiece-sent height=inside centre=no\npiece-sent "
     "height=inside centre=yes\npiece-sent height=inside centre=no\npiece-sent height=on-top "
     "centre=no",
     "not-possible"},
    /* 250 mm long: 250 / 6 = 41.666, 250 / 4 = 62.5, 250 / 3 = 83.333 */
    {"along the loaf",
     {.line = "b1", .product = "loaf-800", .kit = ALL},
     MADE("1") "stop\ntake piece=FE-20-04\n" LAID("FE-20-04", "41666", "0", "85000", "0") LAID(
         "FE-20-04", "41667", "0", "85000", "0") LAID("FE-20-04", "62500", "0", "85000", "0")
         LAID("FE-20-04", "62501", "0", "85000", "0") LAID("FE-20-04", "83332", "0", "85000", "0")
             LAID("FE-20-04", "83333", "0", "85000", "0"),
     CENTRE("middle", "yes") CENTRE("middle", "no") CENTRE("middle", "no") CENTRE("leading", "no")
         CENTRE("leading", "no") CENTRE("leading", "yes"),
     "not-possible"},
};

static void test_well_placed(void **state)
{
    CHECK_ROWS(state, WELL_PLACED);
}

static const Row LINE_AND_SETTINGS[] = {
    {"programs", USUAL,
     "read-program\nset-program product=butter-plain-200\nread-program\nset-program "
     "product=loaf-800\nset-program product=cheese",
     "program-read product=butter-200 right=yes\n"
     "program-set product=butter-plain-200 right=no\n"
     "program-read product=butter-plain-200 right=no\n"
     "not-possible why=no-such-program\nnot-possible why=no-such-program",
     NULL},
    /* the ball is found with a ratio of about 1.5 to 1.7; needing four times the signal is
     * four times less */
    {"sensitivity", USUAL,
     "set-sensitivity percent=400\n" MADE("1") IN_PACK("FE-15-03", "1")
         SENT("1") "until accepted\nfetch pack=1\nset-sensitivity percent=100\n" SENT("1"),
     "sensitivity-set percent=400\njudged pack=1 found=no\naccepted pack=1 pieces=1\n"
     "sensitivity-set percent=100\njudged pack=1 found=yes\nalarm pack=1\nblow\n"
     "removed pack=1 pieces=1",
     NULL},
    {"stop and start", USUAL, "start\nstop\nstop\nstart",
     "not-possible why=line-is-running\nline-stopped\nnot-possible why=line-is-stopped\n"
     "line-started",
     NULL},
    {"the bin", USUAL,
     "close-bin\nopen-bin by=quality\nopen-bin by=line-leader\nclose-bin\nstop\nlock-off\n"
     "open-bin by=line-leader",
     "not-possible why=bin-is-locked\nreached-in what=bin\n"
     "bin-opened by=quality packs=0 agreed=no\nnot-possible why=bin-is-open\nbin-closed\n"
     "line-stopped\nlocked-off\nbin-opened by=line-leader packs=0 agreed=yes",
     NULL},
    {"lock off and unlock, and what is refused", USUAL,
     "lock-off\nunlock\nstop\nunlock\nlock-off\nlock-off\nstart\nstop\nunlock\nunlock\nstart\n"
     "lock-off",
     "not-possible why=line-is-running\nnot-possible why=line-is-running\nline-stopped\n"
     "not-possible why=line-is-not-locked-off\nlocked-off\n"
     "not-possible why=line-is-locked-off\nnot-possible why=line-is-locked-off\n"
     "not-possible why=line-is-stopped\nunlocked\nnot-possible why=line-is-not-locked-off\n"
     "line-started\nnot-possible why=line-is-running",
     NULL},
    {"locked off, nothing comes under the head", USUAL,
     MADE("1") SENT("1") "until pack-on-belt\nstop\nlock-off\nstart\n+60s unlock\nstart",
     "pack-on-belt\nlocked-off\nnot-possible why=line-is-locked-off\nunlocked\nline-started\n"
     "judged pack=1\naccepted pack=1",
     NULL},
    {"a gap in the feed, and on again",
     {.fed = true},
     "tell who=line-leader about=gap\ntell who=line-leader about=gap\ntell who=quality "
     "about=run\ntell who=line-leader about=run\nuntil good-run packs=10",
     "told about=gap\nfeed-stopped\ntold about=gap\ntold who=quality\ntold about=run\n"
     "feed-started\ngood-run packs=10",
     "not-possible"},
    /* one each 750 ms: two more in 1.6 s; the plan wants ten */
    {"a test pack begins the good run anew",
     {.fed = true},
     MADE("1") "until good-run\n" SENT(
         "1") "write row=good-run value=10\nuntil good-run\nwrite row=good-run value=9\nwrite "
              "row=good-run value=10\nwrite row=good-run value=11\n+1600ms write row=good-run "
              "value=10\nwrite row=good-run value=12\nwrite row=good-run value=13",
     "good-run packs=10\npack-sent\nrow-written value=10 truth=false\ngood-run packs=10\n"
     "row-written value=9 truth=false\nrow-written value=10 truth=true\n"
     "row-written value=11 truth=false again=yes\nrow-written value=10 truth=true\n"
     "row-written value=12 truth=true\nrow-written value=13 truth=false",
     NULL},
    /* 6 s are 8 packs; five more had gone between the pack and its removal */
    {"a removal begins the good run anew",
     {.fed = true},
     MADE("1") IN_PACK("FE-15-03", "1") "until good-run\n" SENT(
         "1") "until removed pack=1\n+6s write row=good-run value=10\nuntil good-run\nwrite "
              "row=good-run value=10\nwrite row=good-run value=11",
     "removed pack=1\nrow-written value=10 truth=false\ngood-run packs=10\n"
     "row-written value=10 truth=true\nrow-written value=11 truth=false",
     NULL},
    {"watching lasts over a stop, not over other deeds", USUAL,
     MADE("1") MADE("2") MADE("3") IN_PACK("FE-15-03", "1") IN_PACK("NF-20-05", "2") SENT("1")
         SENT("2") "watch\nuntil alarm pack=1\nstop\n+1s start\n+100ms watch\nuntil removed "
                   "pack=1\nread-program\nuntil removed pack=2\n" SENT("3") "watch\nuntil "
                                                                            "accepted pack=3",
     "watching\nline-stopped\nline-started\nwatching\nremoved pack=1 seen=yes\n"
     "removed pack=2 seen=no\naccepted pack=3 seen=yes",
     NULL},
    {"a stop leaves the watching be", USUAL,
     MADE("1") IN_PACK("FE-15-03", "1") SENT("1") "watch\nuntil blow\nstop\n",
     "blow\nline-stopped\nremoved pack=1 seen=yes", NULL},
};

static void test_line_and_settings(void **state)
{
    CHECK_ROWS(state, LINE_AND_SETTINGS);
}

#define ONE_BALL MADE("1") IN_PACK("FE-15-03", "1") SENT("1") "watch\n"
#define BALL_THRICE                                                                                \
    ONE_BALL "until removed pack=1\nstop\nopen-bin by=line-leader\nfetch pack=1\nclose-bin\n"      \
             "start\n" SENT("1") "until removed pack=1\nstop\nopen-bin by=line-leader\n"           \
                                 "fetch pack=1\nclose-bin\nstart\n" SENT("1")
static const Row FAULTS[] = {
    /* half a pack is 55 mm, 110 ms: 100 ms late still meets it, 120 ms late does not */
    {"reject a little late",
     {.faults = "{\"kind\": \"reject-late\", \"by_ms\": 100}"},
     ONE_BALL,
     "fault-set kind=reject-shifted\nscene-begun\nremoved pack=1 seen=yes",
     "accepted"},
    {"reject late",
     {.faults = "{\"kind\": \"reject-late\", \"by_ms\": 120}"},
     ONE_BALL,
     "fault-set kind=reject-shifted\nalarm pack=1\nblow\naccepted pack=1 seen=yes\n"
     "on-pallet pack=1",
     "removed"},
    {"reject early",
     {.faults = "{\"kind\": \"reject-early\", \"by_ms\": 120}"},
     ONE_BALL,
     "fault-set kind=reject-shifted\nalarm pack=1\nblow-in-gap\naccepted pack=1",
     "removed"},
    /* the packs come every 750 ms; with 750 ms early the blow meets the one in front */
    {"reject early by a pitch takes a good pack",
     {.faults = "{\"kind\": \"reject-early\", \"by_ms\": 750}", .fed = true},
     "+10s make-pack pack=1 marked=yes\n" IN_PACK("FE-15-03", "1")
         SENT("1") "watch\nuntil accepted pack=1\nwrite row=result value=failed\nwrite "
                   "row=chrome-steel/middle value=found-not-removed",
     "removed pack=0 pieces=0 seen=yes\naccepted pack=1\nrow-written row=result truth=true\n"
     "row-written truth=true",
     "removed pack=1"},
    {"sensitivity after one pass: the second is missed",
     {.faults = "{\"kind\": \"sensitivity-changed\", \"signal_needed_percent\": 400, "
                "\"after_passes\": 1}"},
     ONE_BALL "until removed pack=1\nstop\nopen-bin by=line-leader\nfetch "
              "pack=1\nclose-bin\nstart\n" SENT(
                  "1") "until accepted pack=1\nwrite row=chrome-steel/middle value=missed",
     "scene-begun\njudged pack=1 found=yes\nfault-set kind=sensitivity-changed\nremoved "
     "pack=1\njudged pack=1 found=no\naccepted pack=1\nrow-written truth=true",
     NULL},
    {"empty packs are no passes",
     {.faults = "{\"kind\": \"sensitivity-changed\", \"signal_needed_percent\": 400, "
                "\"after_passes\": 1}"},
     MADE("1") SENT("1") "until accepted pack=1",
     "judged pack=1\naccepted pack=1",
     "fault-set"},
    {"after two passes the third is blown at late",
     {.faults = "{\"kind\": \"reject-late\", \"by_ms\": 120, \"after_passes\": 2}"},
     BALL_THRICE,
     "removed pack=1\njudged pack=1\nfault-set kind=reject-shifted\naccepted pack=1",
     NULL},
    {"wrong program",
     {.faults = "{\"kind\": \"wrong-program\", \"product\": "
                "\"butter-plain-200\"}"},
     "read-program\n" MADE("1") IN_PACK("FE-15-03", "1")
         SENT("1") "write row=program value=butter-200\nset-program product=butter-200\nwrite "
                   "row=program value=butter-200",
     "fault-set kind=wrong-program\nscene-begun\nprogram-read product=butter-plain-200 "
     "right=no\npiece-sent program_right=no\nrow-written truth=false\nprogram-set right=yes\n"
     "row-written truth=true again=yes",
     NULL},
    {"wrong program after a pass",
     {.faults = "{\"kind\": \"wrong-program\", \"product\": "
                "\"butter-plain-200\", \"after_passes\": 1}"},
     "read-program\n" ONE_BALL "until removed pack=1\nread-program",
     "program-read right=yes\njudged\nfault-set kind=wrong-program\nprogram-read right=no",
     NULL},
};

static void test_faults(void **state)
{
    CHECK_ROWS(state, FAULTS);
}

/* The bin of B1 holds 20; the twenty-first is blown at in vain. Good packs are removed by needing a
 * tenth of the signal, so that the deviation alone trips. */
static void test_bin_runs_full(void **state)
{
    static const Row row = {
        "bin full",
        {.line = "b1", .product = "loaf-800", .fed = true},
        "set-sensitivity percent=10\nuntil bin-full\nset-sensitivity percent=100\n+30s stop\n"
        "open-bin by=line-leader\ncount what=bin said=20\nwrite row=bin-count value=20\nwrite "
        "row=result value=good\nwrite row=result value=failed",
        "removed pack=0 pieces=0 seen=no\nbin-full pack=0\nbin-opened packs=20\n"
        "counted what=bin said=20 is=20\nrow-written truth=true\nrow-written value=good "
        "truth=false\n"
        "row-written value=failed truth=true",
        NULL};
    check_row(*state, &row);
}

/* Magnetic wire answers most lengthways and least crossways on the middle line; stainless wire,
 * here hardly magnetic, the other way round (common practice, no source; the model's law is
 * proven over its domain in the detector's tests). */
#define TURN_SCENE(piece, ask)                                                                     \
    "{\"id\": \"turn\", \"kind\": \"turn\", \"piece\": \"" piece "\", \"ask\": \"" ask             \
    "\", \"text\": {\"en\": \"Turn it\"}}, " PASS_SCENE
#define TURNED(piece, azimuth)                                                                     \
    "turn piece=" piece " azimuth_mdeg=" azimuth " elevation_mdeg=0\nanswer choice=so"
static const Row TURNED_WIRE[] = {
    {"steel, hardest, crossways",
     {.kit = ALL, .scenes = TURN_SCENE("WIRE-12", "hardest")},
     TURNED("WIRE-12", "90000"),
     "answered scene=turn choice=so right=yes mistake=none\n"
     "scene-begun scene=check",
     NULL},
    {"steel, hardest, nearly crossways",
     {.kit = ALL, .scenes = TURN_SCENE("WIRE-12", "hardest")},
     TURNED("WIRE-12", "-85000"),
     "answered right=yes",
     NULL},
    {"steel, hardest, lengthways",
     {.kit = ALL, .scenes = TURN_SCENE("WIRE-12", "hardest")},
     TURNED("WIRE-12", "0"),
     "answered right=no",
     NULL},
    {"steel, easiest, lengthways",
     {.kit = ALL, .scenes = TURN_SCENE("WIRE-12", "easiest")},
     TURNED("WIRE-12", "180000"),
     "answered right=yes",
     NULL},
    {"steel, easiest, crossways",
     {.kit = ALL, .scenes = TURN_SCENE("WIRE-12", "easiest")},
     TURNED("WIRE-12", "90000"),
     "answered right=no",
     NULL},
    {"steel, easiest, aslant",
     {.kit = ALL, .scenes = TURN_SCENE("WIRE-12", "easiest")},
     TURNED("WIRE-12", "45000"),
     "answered right=no",
     NULL},
    {"stainless, hardest, lengthways",
     {.kit = ALL, .scenes = TURN_SCENE("WIRE-SS", "hardest")},
     TURNED("WIRE-SS", "0"),
     "answered right=yes",
     NULL},
    {"stainless, hardest, crossways",
     {.kit = ALL, .scenes = TURN_SCENE("WIRE-SS", "hardest")},
     TURNED("WIRE-SS", "90000"),
     "answered right=no",
     NULL},
    {"stainless, easiest, lengthways",
     {.kit = ALL, .scenes = TURN_SCENE("WIRE-SS", "easiest")},
     TURNED("WIRE-SS", "0"),
     "answered right=no",
     NULL},
    {"in the loaf",
     {.line = "b1", .product = "loaf-800", .kit = ALL, .scenes = TURN_SCENE("WIRE-12", "hardest")},
     TURNED("WIRE-12", "90000"),
     "answered right=yes",
     NULL},
    {"another word is no answer",
     {.kit = ALL, .scenes = TURN_SCENE("WIRE-12", "hardest")},
     "answer choice=perhaps\nnext",
     "not-possible why=no-question\nnot-possible "
     "why=answer-first",
     "answered"},
};

static void test_turned_wire(void **state)
{
    CHECK_ROWS(state, TURNED_WIRE);
}

/* The three metals of the plan in pack 1, at one place; sent; from the bin, back in the kit. */
#define ONE_AT(piece, along)                                                                       \
    "take piece=" piece "\nplace piece=" piece " pack=1 along_um=" along                           \
    " across_um=0 up_um=40000\n"
#define THREE_SENT(along)                                                                          \
    ONE_AT("FE-15-03", along) ONE_AT("NF-20-05", along) ONE_AT("SS-25-07", along) SENT("1")
#define THREE_AT(along) THREE_SENT(along) "until removed pack=1\n"
#define ONE_BACK(piece) "find piece=" piece "\nput-back piece=" piece "\n"
#define THREE_BACK                                                                                 \
    "stop\nlock-off\nopen-bin by=line-leader\nfetch pack=1\nclose-bin\nunlock\nstart\n" ONE_BACK(  \
        "FE-15-03") ONE_BACK("NF-20-05") ONE_BACK("SS-25-07")
#define CELL(value) "write row=chrome-steel/middle value=" value "\n"

static const Row ROWS_OF_THE_SHEET[] = {
    {"no such row", USUAL,
     "write row=gold/middle value=removed\nwrite row=brass/top value=removed\nwrite row=brass "
     "value=removed\nwrite row=weather value=fine",
     "not-possible why=no-such-row\nnot-possible why=no-such-row\nnot-possible "
     "why=no-such-row\nnot-possible why=no-such-row",
     "row-written"},
    {"ahead of the pass, then true, then false", USUAL,
     MADE("1") IN_PACK(
         "FE-15-03",
         "1") "write row=chrome-steel/middle value=removed\nwrite "
              "row=result value=good\n" SENT(
                  "1") "write row=chrome-steel/middle value=removed\nuntil removed "
                       "pack=1\nwrite "
                       "row=chrome-steel/middle value=removed\nwrite row=chrome-steel/middle "
                       "value=missed\nwrite row=result value=good\nwrite row=result "
                       "value=failed\nwrite "
                       "row=chrome-steel/leading value=removed",
     "row-written value=removed truth=ahead again=no\nrow-written row=result truth=ahead\n"
     "row-written value=removed truth=ahead again=yes\nrow-written value=removed truth=true\n"
     "row-written value=missed truth=false\nrow-written value=good truth=ahead\n"
     "row-written value=failed truth=ahead\n"
     "row-written row=chrome-steel/leading truth=ahead",
     NULL},
    {"missed: the bigger distance from the limit", USUAL,
     "set-sensitivity percent=1000\n" MADE("1") IN_PACK("FE-15-03", "1")
         SENT("1") "until accepted\nwrite row=chrome-steel/middle value=missed\nwrite "
                   "row=chrome-steel/middle value=found-not-removed\nwrite row=result value=failed",
     "row-written value=missed truth=true\nrow-written truth=false\nrow-written truth=true", NULL},
    /* the three metals at once, at each of the three places of the plan */
    {"the result, up to the last cell and after it", USUAL,
     MADE("1") THREE_AT("40000") "write row=result value=good\n" THREE_BACK THREE_AT("0") THREE_BACK
     "write row=result value=good\n" THREE_SENT(
         "-40000") "write row=result value=good\nuntil removed pack=1\nwrite row=result "
                   "value=good\nwrite row=result value=failed",
     "piece-sent spot=leading\nremoved pack=1 pieces=3\nrow-written value=good truth=ahead\n"
     "piece-sent spot=middle\nremoved pack=1 pieces=3\nrow-written value=good truth=ahead\n"
     "piece-sent spot=trailing\nrow-written value=good truth=ahead\nremoved pack=1 pieces=3\n"
     "row-written value=good truth=true\nrow-written value=failed truth=false",
     "not-possible\naccepted"},
    {"a failure needs no further cell", USUAL,
     "set-sensitivity percent=1000\n" MADE("1") IN_PACK(
         "FE-15-03",
         "1") "write row=result "
              "value=failed\n" SENT(
                  "1") "until accepted\nwrite row=result value=failed\nwrite row=result value=good",
     "row-written value=failed truth=ahead\naccepted\nrow-written value=failed truth=true\n"
     "row-written value=good truth=false",
     NULL},
    {"caught by hand before the head: not finished", USUAL,
     MADE("1") IN_PACK("FE-15-03", "1") SENT("1") "fetch pack=1\n" CELL("removed") CELL("missed")
         CELL("found-not-removed") CELL("not-finished"),
     "row-written value=removed truth=false\nrow-written value=missed truth=false\n"
     "row-written value=found-not-removed truth=false\n"
     "row-written value=not-finished truth=true",
     "judged"},
    {"caught by hand after the head found it: either may be written", USUAL,
     MADE("1") IN_PACK("FE-15-03", "1") SENT("1") "until judged pack=1\nfetch pack=1\n" CELL(
         "removed") CELL("missed") CELL("found-not-removed") CELL("not-finished"),
     "judged found=yes\npack-fetched from=belt\nrow-written value=removed truth=false\n"
     "row-written value=missed truth=false\nrow-written value=found-not-removed truth=true\n"
     "row-written value=not-finished truth=true",
     "removed\naccepted"},
    {"caught by hand after the head missed it: not finished", USUAL,
     "set-sensitivity percent=1000\n" MADE("1") IN_PACK("FE-15-03", "1")
         SENT("1") "until judged pack=1\nfetch pack=1\n" CELL("missed") CELL("found-not-removed")
             CELL("not-finished"),
     "judged found=no\nrow-written value=missed truth=false\n"
     "row-written value=found-not-removed truth=false\n"
     "row-written value=not-finished truth=true",
     NULL},
    {"counts", USUAL,
     "write row=bin-count value=0\nwrite row=kit-count value=6\nwrite row=kit-count value=5\n"
     "write row=kit-count value=six\ncount what=bin said=0\ncount what=stars said=1\n" IN_BIN
     "write row=bin-count value=1\ncount what=bin said=2\nwrite row=bin-count value=1\nwrite "
     "row=bin-count value=2",
     "row-written row=bin-count truth=ahead\nrow-written value=6 truth=true\n"
     "row-written value=5 truth=false\nrow-written value=six truth=false\n"
     "not-possible why=bin-is-locked\nnot-possible why=nothing-to-count\n"
     "row-written row=bin-count value=1 truth=ahead\ncounted said=2 is=1\n"
     "row-written value=1 truth=true\nrow-written value=2 truth=false",
     NULL},
    {"good run of none", USUAL, "write row=good-run value=0\nwrite row=good-run value=10",
     "row-written value=0 truth=false\nrow-written value=10 truth=false", NULL},
    {"held from: between the earliest hold and the last good check", USUAL,
     "write row=held-from value=04:00\nhold from=03:30 place=pallet\nwrite row=held-from "
     "value=03:29:59\nwrite row=held-from value=03:30\nwrite row=held-from value=04:00\nwrite "
     "row=held-from value=04:00:01\nwrite row=held-from value=never",
     "row-written value=04:00 truth=ahead\nheld\nrow-written value=03:29:59 truth=false\n"
     "row-written value=03:30 truth=true\nrow-written value=04:00 truth=true\n"
     "row-written value=04:00:01 truth=false\nrow-written value=never truth=false",
     NULL},
    {"held from: an earlier hold moves it, a later one does not", USUAL,
     "hold from=04:00 place=pallet\nhold from=05:00 place=store\nwrite row=held-from "
     "value=04:00\nwrite row=held-from value=03:00\nhold from=03:00 place=lorry\nwrite "
     "row=held-from value=03:00",
     "held\nheld\nrow-written value=04:00 truth=true\nrow-written value=03:00 truth=false\n"
     "held\nrow-written value=03:00 truth=true",
     NULL},
    {"held from: a place that is held later leaves a gap after the last good check", USUAL,
     "hold from=05:00 place=pallet\nwrite row=held-from value=05:00\nwrite row=held-from "
     "value=04:00",
     "held early_enough=yes\nrow-written value=05:00 truth=false\n"
     "row-written value=04:00 truth=false",
     NULL},
    {"signed", USUAL,
     "sign as=self\nwrite row=kit-count value=6\nwrite row=program value=butter-200\nsign "
     "as=ghost\nsign as=colleague\nsign as=self\nwrite row=kit-count value=6\nsign as=self",
     "not-possible why=nothing-to-sign\nnot-possible why=nothing-to-sign\n"
     "signed as=colleague rows=2\nnot-possible why=nothing-to-sign\nsigned as=self rows=1",
     "row-stale"},
    {"signed though false, or ahead", USUAL,
     "write row=kit-count value=5\nwrite row=brass/leading value=removed\nwrite row=program "
     "value=butter-200\nsign as=self",
     "row-stale row=kit-count value=5 truth=false\nrow-stale row=brass/leading value=removed "
     "truth=ahead\nsigned as=self rows=3",
     "row-stale row=program"},
    {"true when written, no more when signed", USUAL,
     "write row=kit-count value=6\ntake piece=FE-15-03\nsign as=self",
     "row-written value=6 truth=true\nrow-stale row=kit-count value=6 truth=false\n"
     "signed as=self rows=1",
     NULL},
    {"false when written, true by the time it is signed", USUAL,
     "take piece=FE-15-03\nwrite row=kit-count value=6\nput-back piece=FE-15-03\nsign as=self",
     "row-written value=6 truth=false\nsigned as=self rows=1", "row-stale"},
    {"signed when true: told at the next signature when it is no more", USUAL,
     "write row=kit-count value=6\nsign as=self\ntake piece=FE-15-03\nsign as=self\nwrite "
     "row=program value=butter-200\nsign as=colleague",
     "signed as=self rows=1\nnot-possible why=nothing-to-sign\n"
     "row-stale row=kit-count value=6 truth=false\nsigned as=colleague rows=1",
     "row-stale row=program"},
    {"corrected after the signature, and signed again", USUAL,
     "write row=kit-count value=5\nsign as=self\nwrite row=kit-count value=6\nsign as=self",
     "row-written value=5 truth=false again=no\nrow-stale row=kit-count value=5\n"
     "signed as=self rows=1\nrow-written value=6 truth=true again=yes\nsigned as=self rows=1",
     "row-stale row=kit-count value=6"},
};

static void test_rows_of_the_sheet(void **state)
{
    CHECK_ROWS(state, ROWS_OF_THE_SHEET);
}

/* The last good check was at 04:00, and it is 06:00. The pallet was made from 05:00 on, the store
 * from 04:00, the lorry from 03:00, up to 04:30: each is in doubt from then, but not before 04:00.
 */
static const Row HOLDS_AND_RELEASES[] = {
    {"everything at once", USUAL, "hold from=04:00 place=everything",
     "held from=04:00 place=everything early_enough=yes complete=yes", NULL},
    {"in parts", USUAL,
     "hold from=04:00 place=pallet\nhold from=03:30 place=store\nhold from=04:00 place=lorry",
     "held place=pallet early_enough=yes complete=no\nheld place=store complete=no\n"
     "held place=lorry complete=yes",
     NULL},
    {"each place from when its own stock was made", USUAL,
     "hold from=05:00:01 place=pallet\nhold from=05:00 place=pallet\nhold from=04:00:01 "
     "place=store\nhold from=04:00 place=store\nhold from=04:00:01 place=lorry\nhold from=04:00 "
     "place=lorry",
     "held from=05:00:01 place=pallet early_enough=no complete=no\n"
     "held from=05:00 place=pallet early_enough=yes complete=no\n"
     "held from=04:00:01 place=store early_enough=no complete=no\n"
     "held from=04:00 place=store early_enough=yes complete=no\n"
     "held from=04:00:01 place=lorry early_enough=no complete=no\n"
     "held from=04:00 place=lorry early_enough=yes complete=yes",
     "not-possible"},
    {"everything too late for some places", USUAL,
     "hold from=04:00:01 place=everything\nhold from=04:00 place=store\nhold from=04:00 "
     "place=lorry",
     "held place=everything early_enough=no complete=no\nheld place=store early_enough=yes "
     "complete=no\nheld place=lorry early_enough=yes complete=yes",
     NULL},
    {"seconds are read", USUAL, "hold from=04:00:00 place=everything",
     "held early_enough=yes complete=yes", NULL},
    {"a smaller hold takes nothing back", USUAL,
     "hold from=04:00 place=everything\nhold from=05:00:01 place=pallet",
     "held complete=yes\nheld early_enough=no complete=yes", NULL},
    {"a place with nothing from before the run",
     {.stock = "{\"place\": \"store\", \"from\": \"04:00\", \"to\": \"05:00\", \"packs\": 20}"},
     "hold from=04:00 place=store\nhold from=06:00:01 place=pallet\nhold from=06:00 place=pallet",
     "held place=store early_enough=yes complete=no\n"
     "held place=pallet early_enough=no complete=no\n"
     "held place=pallet early_enough=yes complete=yes",
     NULL},
    {"what was made before the last good check is not in doubt",
     {.stock = "{\"place\": \"store\", \"from\": \"02:00\", \"to\": \"04:00\", \"packs\": 20},"
               "{\"place\": \"pallet\", \"from\": \"05:00\", \"to\": \"06:00\", \"packs\": 10}"},
     "hold from=05:00 place=pallet",
     "held place=pallet early_enough=yes complete=yes",
     NULL},
    {"several lots at one place: from the first that is in doubt",
     {.stock = "{\"place\": \"pallet\", \"from\": \"02:00\", \"to\": \"04:00\", \"packs\": 20},"
               "{\"place\": \"pallet\", \"from\": \"05:00\", \"to\": \"05:30\", \"packs\": 10},"
               "{\"place\": \"pallet\", \"from\": \"04:30\", \"to\": \"05:00\", \"packs\": 10},"
               "{\"place\": \"pallet\", \"from\": \"05:30\", \"to\": \"06:00\", \"packs\": 10}"},
     "hold from=04:30:01 place=pallet\nhold from=04:30 place=pallet",
     "held early_enough=no complete=no\nheld early_enough=yes complete=yes",
     NULL},
    {"no time, no place", USUAL,
     "hold from=24:00 place=pallet\nhold from=04:00 place=moon\nrelease place=moon",
     "not-possible why=no-time-of-day\nnot-possible why=no-such-place\n"
     "not-possible why=no-such-place",
     "held\nreleased"},
    {"what is released is held no more", USUAL,
     "hold from=04:00 place=everything\nrelease place=store\nhold from=04:00 "
     "place=pallet\nhold from=04:00 place=store",
     "held complete=yes\nreleased place=store authority=no\nheld place=pallet complete=no\n"
     "held place=store complete=yes",
     "stock-left"},
    {"the lorry drives off, once, for good", USUAL,
     "release place=lorry\nrelease place=lorry\nhold from=04:00 place=lorry\nhold from=04:00 "
     "place=everything\nrelease place=everything",
     "released place=lorry\nstock-left place=lorry packs=30\nnot-possible "
     "why=stock-has-left\nnot-possible why=stock-has-left\nheld complete=no\n"
     "released place=everything\nrun-ended",
     "held complete=yes"},
    {"released by the one who may",
     {.role = "quality"},
     "release place=everything",
     "released place=everything authority=yes\nstock-left place=lorry packs=30",
     NULL},
    {"told", USUAL,
     "tell who=quality about=check-failed\ntell who=nobody about=other\ntell who=quality "
     "about=weather",
     "told who=quality about=check-failed\nnot-possible why=nobody-to-tell\n"
     "not-possible why=nobody-to-tell",
     NULL},
};

static void test_holds_and_releases(void **state)
{
    CHECK_ROWS(state, HOLDS_AND_RELEASES);
}

#define DECIDE                                                                                     \
    "{\"id\": \"ask\", \"kind\": \"decide\", \"text\": {\"en\": \"What?\"}, \"answers\": ["        \
    "{\"id\": \"good\", \"right\": true, \"text\": {\"en\": \"Good\"}}, {\"id\": \"bad\", "        \
    "\"mistake\": \"M9\", \"text\": {\"en\": \"Bad\"}, \"next\": \"end\"}]}, " PASS_SCENE
static const Row SCENES[] = {
    {"the right answer leads on",
     {.scenes = DECIDE},
     "next\nanswer choice=worse\nanswer "
     "choice=good\nanswer choice=good\nnext",
     "scene-begun scene=ask kind=decide\nnot-possible why=answer-first\nnot-possible "
     "why=no-such-answer\nanswered scene=ask choice=good right=yes mistake=none\nscene-begun "
     "scene=check kind=pass\nnot-possible why=no-question\nrun-ended why=done",
     NULL},
    {"the wrong one to the end",
     {.scenes = DECIDE},
     "answer choice=bad",
     "answered choice=bad right=no mistake=M9\nrun-ended why=done",
     "scene-begun scene=check"},
    {"broken off", USUAL, "leave", "leave\nrun-ended why=left", NULL},
    {"out of time", USUAL, "+299s watch", "watching\nrun-ended why=time", NULL},
};

static void test_scenes(void **state)
{
    CHECK_ROWS(state, SCENES);
}

/* The infeed at its limit and one past: the line stands still, so that nothing leaves it. */
static void test_infeed_is_full(void **state)
{
    Text script = {0};
    Text want = {0};
    text_add(&script, "stop\n");
    for (int i = 1; i <= LINE_QUEUE_MAX + 1; i++) {
        text_addf(&script, "make-pack pack=%d marked=yes\nsend pack=%d across_um=0\n", i, i);
        if (i <= LINE_QUEUE_MAX) text_addf(&want, "pack-sent pack=%d\n", i);
    }
    text_add(&want, "not-possible why=infeed-is-full");
    Row row = {"infeed full", USUAL, script.bytes, want.bytes, "pack-sent pack=33"};
    check_row(*state, &row);
    text_clear(&script);
    text_clear(&want);
}

static void write_untrue(AppRun *run, const char *row)
{
    LogLine action = log_action(ACTION_WRITE, 0);
    log_set_word(&action, "row", row);
    log_set_word(&action, "value", "untrue");
    assert_true(app_run_do(run, &action));
}

/* A run with as many rows as its sheet can have, 63, none of them true, and then as many idle deeds
 * as bring its log to `until` lines or end it. `odd`: with one line more before. */
static AppRun *fill_log(const Work *work, bool odd, size_t until)
{
    static const char *const fixed[] = {"program",  "bin-count", "kit-count",
                                        "good-run", "held-from", "result"};
    static const char *const of_plan[] = {"chrome-steel", "brass", "stainless-316"};
    AppRunSetup setup = {.seed = 3, .is_scripted = true};
    AppRun *run = NULL;
    Err err = {0};
    size_t count;
    if (!app_run_begin(work, &setup, &run, &err)) fail_msg("%s", err.text);
    for (int i = 0; i < 6; i++) {
        write_untrue(run, fixed[i]);
    }
    for (int spot = 0; spot < SITE_SPOT_COUNT; spot++) {
        for (int i = 0; i < SCENARIO_KIT_MAX + 3; i++) {
            char metal[16];
            char row[LOG_WORD_BYTES];
            (void)snprintf(metal, sizeof metal, "M%d", i - 2);
            (void)snprintf(row, sizeof row, "%s/%s", i < 3 ? of_plan[i] : metal,
                           site_spot_words[spot]);
            write_untrue(run, row);
        }
    }
    LogLine action = log_action(ACTION_OPEN_BIN, 0); /* and reached-in, and bin-opened */
    log_set_word(&action, "by", "line-leader");
    if (odd) assert_true(app_run_do(run, &action));
    action = log_action(ACTION_READ_PROGRAM, 0);
    do {
        (void)player_log(app_run_player(run), &count);
    } while (count < until && app_run_do(run, &action));
    return run;
}

/* The longest answer to one deed, a signature with every row stale, at the last moment at which a
 * run can still do one: the log keeps its limit, and the run ends. */
static void test_full_sheet_in_a_full_log(void **state)
{
    Text kit = {0};
    size_t count;
    for (int i = 1; i <= SCENARIO_KIT_MAX; i++) {
        text_addf(&kit, "%s\"BALL-%d\"", i == 1 ? "" : ", ", i);
    }
    Work *work = small_work(*state, &(Small){.kit = kit.bytes});
    for (int odd = 0; odd <= 1; odd++) {
        AppRun *run = fill_log(work, odd, SIZE_MAX);
        (void)player_log(app_run_player(run), &count);
        app_run_free(run);
        size_t last = count - 3; /* before the last deed, its answer, and the end */
        run = fill_log(work, odd, last);
        LogLine sign = log_action(ACTION_SIGN, 0);
        log_set_word(&sign, "as", "self");
        assert_true(app_run_do(run, &sign));
        const LogLine *log = player_log(app_run_player(run), &count);
        assert_true(player_has_ended(app_run_player(run)));
        assert_true(count <= LOG_LINES_MAX);
        assert_int_equal(count - last, 1 + 63 + 1 + 1);
        assert_true(log_is(&log[count - 2], HAPPENING_SIGNED));
        assert_int_equal(log_number(&log[count - 2], "rows"), 63);
        app_run_free(run);
    }
    work_free(work);
    text_clear(&kit);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_hands),
        cmocka_unit_test(test_reached_in),
        cmocka_unit_test(test_well_placed),
        cmocka_unit_test(test_line_and_settings),
        cmocka_unit_test(test_faults),
        cmocka_unit_test(test_bin_runs_full),
        cmocka_unit_test(test_turned_wire),
        cmocka_unit_test(test_rows_of_the_sheet),
        cmocka_unit_test(test_holds_and_releases),
        cmocka_unit_test(test_scenes),
        cmocka_unit_test(test_infeed_is_full),
        cmocka_unit_test(test_full_sheet_in_a_full_log),
    };
    return cmocka_run_group_tests(tests, read_base, end_base);
}
