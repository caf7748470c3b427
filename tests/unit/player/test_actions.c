/* What hands, eyes and called people do about a line that goes wrong, and what is refused: short
 * scripts and the happenings that they must bring, in their order. */
#include "unit/player/rows.h"

#define ALL_FAIL_SAFES                                                                             \
    "\"reject-confirmation\", \"bin-full\", \"bin-open\", \"low-air\", \"photo-eye\", "            \
    "\"encoder\", \"power\""

static const Row PIECES[] = {
    {"refuse a wrong piece, and a right one", USUAL,
     "refuse piece=NF-20-01\ntake piece=FE-15-03\nrefuse piece=FE-15-03\nrefuse piece=FE-15-03\n"
     "take piece=FE-15-03\ncount what=kit said=4",
     "piece-refused piece=NF-20-01 right=no\npiece-refused piece=FE-15-03 right=yes\n"
     "not-possible why=piece-not-at-hand\nnot-possible why=piece-not-in-kit\n"
     "counted what=kit said=4 is=4",
     NULL},
    {"fetch another from the store-room",
     {.kit = "\"FE-15-01\", \"NF-20-05\""},
     "fetch-piece piece=FE-15-03\nfetch-piece piece=FE-15-03\nfetch-piece piece=nothing\n"
     "fetch-piece piece=SS-45-02\ntake piece=FE-15-03\ncount what=kit said=3",
     "piece-fetched piece=FE-15-03 right=yes\nnot-possible why=piece-was-in-kit\n"
     "not-possible why=piece-not-there\npiece-fetched piece=SS-45-02 right=no\npiece-taken\n"
     "counted is=3",
     NULL},
    {"a piece falls out, is searched for and found",
     {.faults = FAULT("\"piece-falls\", \"piece\": \"FE-15-03\"")},
     BALL("1") "until accepted\nsearch place=clothes\nsearch place=moon\ntake "
               "piece=NF-20-05\nsearch place=floor\nput-back piece=NF-20-05\nsearch place=floor\n"
               "put-back piece=FE-15-03\nsearch place=floor\nsearch place=belt",
     "pack-sent pack=1 pieces=1\npiece-sent piece=FE-15-03\npiece-fell piece=FE-15-03 pack=1\n"
     "judged pack=1 found=no ratio_milli=0\naccepted pack=1 pieces=0\n"
     "searched place=clothes pieces=0\nnot-possible why=no-such-place\n"
     "searched place=floor pieces=1\npiece-put-back piece=NF-20-05\nsearched place=floor "
     "pieces=1\npiece-found piece=FE-15-03 pack=1 from=floor\npiece-put-back piece=FE-15-03\n"
     "searched place=floor pieces=0\nreached-in what=belt\nsearched place=belt pieces=0",
     NULL},
    {"destroyed with its pack, found in the waste", USUAL,
     MADE("1") IN_PACK("FE-15-03", "1") "destroy pack=1\nsearch place=waste",
     "pack-destroyed pieces=1\nsearched place=waste pieces=1\npiece-found from=waste", NULL},
    {"a sealed pack is not opened, a piece lies on it or under it",
     {.is_sealed = true},
     MADE("1") "take piece=FE-15-03\nplace piece=FE-15-03 pack=1 along_um=0 across_um=0 "
               "up_um=20000\nplace piece=FE-15-03 pack=1 along_um=0 across_um=0 up_um=0\nfind "
               "piece=FE-15-03\nplace piece=FE-15-03 pack=1 along_um=0 across_um=0 up_um=40000",
     "not-possible why=pack-is-sealed\npiece-placed height=underneath\npiece-placed "
     "height=on-top",
     "piece-placed height=inside"},
    {"bad, good, bad, good without a feed", USUAL,
     "stop\n" BALL("1") "send-good\n" MADE("2") IN_PACK("NF-20-05", "2")
         SENT("2") "send-good\nstart\nuntil removed pack=2\n+4s read-counters",
     "good-pack-sent\npack-sent pack=2\ngood-pack-sent\nremoved pack=1\nremoved pack=2\n"
     "counters-read passed=2 blown=2",
     "removed pack=0\naccepted"},
};

static void test_pieces(void **state)
{
    CHECK_ROWS(state, PIECES);
}

static const char ALL_WRONG[] =
    "{\"kind\": \"bin-unlocked\"}, {\"kind\": \"eye-dirty\", \"late_mm\": 9}, {\"kind\": "
    "\"low-air\", \"blows\": 2, \"fills_one_in_ms\": 900}, {\"kind\": \"test-mode\"}, "
    "{\"kind\": \"head-bypassed\"}, {\"kind\": \"product-temperature\", \"temperature_c\": 9}, "
    "{\"kind\": \"packs-turned\", \"every\": 9}, {\"kind\": \"belt-speed\", \"percent\": 99}";

static const Row LOOKS[] = {
    {"a line in order", USUAL,
     "look what=bin\nlook what=photo-eye\nlook what=air\nlook what=aperture\nlook what=reject\n"
     "look what=head\nlook what=product\nlook what=packs\nlook what=belt\nlook what=moon\n"
     "read-events",
     "looked what=bin is=locked\nlooked is=clean\nlooked is=in-order\nlooked is=free\n"
     "looked is=in-order\nlooked is=in-order\nlooked is=as-learned\nlooked is=straight\n"
     "looked is=as-set\nnot-possible why=nothing-to-look-at\n"
     "event-read what=none seconds_ago=0 reset_by=nobody",
     NULL},
    {"a line that is not",
     {.faults = ALL_WRONG},
     "look what=bin\nlook what=photo-eye\nlook what=air\nlook what=reject\nlook what=head\nlook "
     "what=product\nlook what=packs\nlook what=belt\ncompare-settings",
     "looked what=bin is=not-locked\nlooked is=dirty\nlooked is=low\nlooked is=in-test-mode\n"
     "looked is=bypassed\nlooked is=warmer\nlooked is=some-across\nlooked is=slow\n"
     "setting-read what=program agrees=yes\nsetting-read what=sensitivity agrees=yes\n"
     "setting-read what=reject-delay agrees=yes\nsetting-read what=test-mode agrees=no\n"
     "setting-read what=head agrees=no\nsetting-read what=belt-speed agrees=no",
     NULL},
    {"settings that a fault and a hand have changed",
     {.faults = FAULT("\"reject-late\", \"by_ms\": 9") "," FAULT(
          "\"stroke-long\", \"stroke_ms\": 500") "," FAULT("\"reject-off\"")},
     "set-sensitivity percent=110\nset-program product=butter-plain-200\ncompare-settings",
     "setting-read what=program agrees=no\nsetting-read what=sensitivity agrees=no\n"
     "setting-read what=reject-delay agrees=no\nsetting-read what=reject-stroke agrees=no\n"
     "setting-read what=reject-device agrees=no\nsetting-read what=test-mode agrees=yes",
     NULL},
    {"an alarm of the night that somebody cleared",
     {.faults =
          FAULT("\"alarm-cleared\", \"what\": \"reject-confirmation\", \"minutes_before\": 108")},
     "+20s read-events",
     "event-read what=reject-confirmation seconds_ago=6500 reset_by=unknown",
     "event-read "
     "what=none"},
    {"wiping the eye of a running line, and of one that is locked off",
     {.faults = FAULT("\"eye-dirty\", \"late_mm\": 60")},
     "clean what=photo-eye\nclean what=photo-eye\nclean what=moon\nstop\nlock-off\nclean "
     "what=photo-eye\nunlock\nstart\n" BALL("1") "until removed pack=1",
     "reached-in what=photo-eye\ncleaned what=photo-eye\nnot-possible why=nothing-to-clean\n"
     "locked-off\ncleaned what=photo-eye\nremoved pack=1",
     "blow-in-gap"},
    {"a jam is cleared, locked off",
     {.fed = true, .faults = FAULT("\"jam\"")},
     "clear-jam\nuntil jammed\n" BALL("1") "until jammed pack=1\nstop\nlock-off\nclear-jam\nlook "
                                           "what=aperture\nunlock\nstart\nuntil good-run",
     "not-possible why=aperture-is-free\nlocked-off\npack-fetched pack=1 from=aperture\n"
     "jam-cleared\nlooked what=aperture is=free\nline-started\ngood-run",
     "reached-in"},
};

static void test_looks(void **state)
{
    CHECK_ROWS(state, LOOKS);
}

static const Row FINDS[] = {
    {"kept",
     {.fed = true, .faults = SLIVER},
     "keep-find\nuntil removed\nexamine-rejects\nstop\nlock-off\nopen-bin by=line-leader\n"
     "examine-rejects\ncount what=bin said=0\nkeep-find\nkeep-find\ntell who=quality about=find",
     "not-possible why=no-find-in-hand\nremoved pack=0 pieces=1\nnot-possible why=bin-is-locked\n"
     "rejects-examined packs=1 finds=1\ncounted is=0\nfind-kept finds=1\n"
     "not-possible why=no-find-in-hand\ntold about=find",
     "reached-in"},
    {"thrown away",
     {.fed = true, .faults = SLIVER},
     "until removed\nstop\nlock-off\nopen-bin by=line-leader\nexamine-rejects\nthrow-find-away",
     "rejects-examined packs=1 finds=1\nfind-thrown-away finds=1",
     NULL},
    {"a false reject holds nothing",
     {.fed = true, .faults = FAULT("\"packs-turned\", \"every\": 3")},
     "until removed\nstop\nlock-off\nopen-bin by=line-leader\nexamine-rejects",
     "rejects-examined packs=1 finds=0",
     NULL},
};

static void test_finds(void **state)
{
    CHECK_ROWS(state, FINDS);
}

/* Each fail-safe is tried by hand: the line stops within a pitch, and starts only when the alarm is
 * reset. */
#define TRIED(block, alarm)                                                                        \
    {                                                                                              \
        "try " alarm, {.fail_safes = ALL_FAIL_SAFES},                                              \
            "block what=" block "\nuntil alarm-raised what=" alarm "\nunblock what=" block         \
            "\nstart\nreset-alarm what=" alarm " by=line-leader\nstart\n+5s read-program",         \
            "blocked what=" block "\nalarm-raised what=" alarm "\nline-stopped\nunblocked\n"       \
            "not-possible why=alarm-not-reset\nalarm-reset what=" alarm                            \
            " by=line-leader agreed=yes\nline-started\nprogram-read",                              \
            NULL                                                                                   \
    }

static const Row FAIL_SAFES[] = {
    TRIED("photo-eye", "photo-eye"),
    TRIED("level-sensor", "bin-full"),
    TRIED("air", "low-air"),
    TRIED("encoder", "encoder"),
    {"reject confirmation: the pack is in the bin, and the sensor does not tell",
     {.fail_safes = "\"reject-confirmation\""},
     "block what=bin-sensor\n" BALL("1") "until alarm-raised\nread-events\nreset-alarm "
                                         "what=reject-confirmation by=maintenance\nread-events",
     "removed pack=1\nalarm-raised what=reject-confirmation\nline-stopped\n"
     "event-read what=reject-confirmation reset_by=nobody\n"
     "alarm-reset what=reject-confirmation by=maintenance agreed=no\n"
     "event-read what=reject-confirmation reset_by=maintenance",
     NULL},
    {"the bin opened while the line runs",
     {.fail_safes = "\"bin-open\""},
     "open-bin by=line-leader\nuntil alarm-raised\nreset-alarm what=bin-open by=line-leader\n"
     "start\nuntil alarm-raised\nclose-bin\nreset-alarm what=bin-open by=line-leader\nstart\n"
     "+5s read-program",
     "reached-in what=bin\nbin-opened\nalarm-raised what=bin-open\nline-stopped\nalarm-reset\n"
     "line-started\nalarm-raised what=bin-open\nbin-closed\nalarm-reset\nline-started\n"
     "program-read",
     NULL},
    {"power: the line stands until it is started, and keeps its program",
     {.fail_safes = "\"power\""},
     "set-program product=butter-plain-200\npower-on\npower-off\npower-off\nstart\npower-on\n"
     "start\nreset-alarm what=power by=line-leader\nread-program\nstart",
     "not-possible why=power-is-on\npower-lost\nline-stopped\nnot-possible why=no-power\n"
     "not-possible why=no-power\npower-returned\nalarm-raised what=power\n"
     "not-possible why=alarm-not-reset\nalarm-reset what=power\n"
     "program-read product=butter-plain-200\nline-started",
     NULL},
    {"power without the fail-safe: it starts by itself", USUAL, "power-off\npower-on",
     "power-lost\nline-stopped\npower-returned\nline-started", "alarm-raised"},
    {"without a fail-safe nothing stops", USUAL,
     "block what=photo-eye\nblock what=level-sensor\nblock what=encoder\nblock what=bin-sensor\n"
     "block what=air\n+10s read-program\nunblock what=air\nunblock what=air\nblock what=encoder\n"
     "block what=moon\nreset-alarm what=low-air by=line-leader",
     "program-read\nunblocked what=air\nnot-possible why=is-not-blocked\n"
     "not-possible why=is-blocked\nnot-possible why=nothing-to-block\n"
     "not-possible why=no-such-alarm",
     "alarm-raised\nline-stopped"},
    {"reset by nobody",
     {.fail_safes = "\"low-air\""},
     "block what=air\nuntil alarm-raised\nreset-alarm what=low-air by=ghost",
     "alarm-raised\nnot-possible why=nobody-to-reset",
     "alarm-reset"},
};

static void test_fail_safes(void **state)
{
    CHECK_ROWS(state, FAIL_SAFES);
}

#define LATE FAULT("\"reject-late\", \"by_ms\": 200")

static const Row PEOPLE[] = {
    {"called, come after a minute, decline what is not theirs", USUAL,
     "call who=ghost\ncall who=line-checker\nask who=maintenance for=repair\ncall "
     "who=maintenance\ncall who=maintenance\n+59999ms ask who=maintenance for=repair\nuntil came\n"
     "ask who=maintenance for=release\nask who=maintenance for=coffee\nask who=maintenance "
     "for=repair\nstop\nask who=maintenance for=repair\nask who=maintenance for=repair\nuntil "
     "repaired",
     "not-possible why=nobody-to-call\nnot-possible why=nobody-to-call\n"
     "not-possible why=nobody-here\ncalled who=maintenance\nnot-possible why=was-called\n"
     "not-possible why=nobody-here\ncame who=maintenance\ndeclined who=maintenance for=release\n"
     "not-possible why=nothing-to-ask-for\nnot-possible why=line-is-running\n"
     "asked who=maintenance for=repair\nnot-possible why=nobody-here\n"
     "repaired fault=nothing by=maintenance",
     NULL},
    {"a fault is repaired, and the line is right again",
     {.faults = LATE "," FAULT("\"low-air\", \"blows\": 1, \"fills_one_in_ms\": 60000")},
     BALL("1") "until accepted\nstop\n" CALLED(
         "maintenance") "ask who=maintenance for=repair\nuntil repaired fault=low-air\nfetch "
                        "pack=1\nstart\n" SENT("1") "until removed pack=1",
     "accepted pack=1\nrepaired fault=reject-shifted by=maintenance\n"
     "repaired fault=low-air by=maintenance\nremoved pack=1",
     NULL},
    {"settings are restored by quality",
     {.faults = FAULT("\"sensitivity-changed\", \"signal_needed_percent\": 400") "," FAULT(
          "\"wrong-program\", \"product\": \"butter-plain-200\"") "," FAULT("\"test-mode\"")},
     CALLED("quality") "ask who=quality for=restore-settings\nuntil "
                       "settings-restored\ncompare-settings\n" BALL("1") "until removed pack=1",
     "asked\nrepaired fault=test-mode by=quality\nsettings-restored by=quality\n"
     "setting-read what=program agrees=yes\nsetting-read what=sensitivity agrees=yes\n"
     "setting-read what=test-mode agrees=yes\nremoved pack=1",
     "setting-read agrees=no"},
    /* at 80 C every pack is called metal; once learned so, none is */
    {"a warm product is learned anew by quality",
     {.fed = true, .faults = FAULT("\"product-temperature\", \"temperature_c\": 80")},
     "until removed\nstop\n" CALLED("quality") "ask who=quality for=re-learn\nuntil "
                                               "re-learned\nstart\nuntil good-run",
     "alarm pack=0\ncame who=quality\nre-learned product=butter-200 by=quality\ngood-run",
     NULL},
    {"the bin is emptied by the line leader",
     {.faults = FAULT("\"bin-filled\", \"packs\": 40")},
     CALLED("line-leader") "ask who=line-leader for=empty-bin\nstop\nlock-off\nopen-bin "
                           "by=line-leader\nask who=line-leader for=empty-bin\nuntil "
                           "bin-emptied\nclose-bin\nunlock\nstart\n" BALL(
                               "1") "until removed pack=1",
     "not-possible why=bin-is-locked\nasked for=empty-bin\nbin-emptied packs=40 "
     "by=line-leader\nremoved pack=1",
     "bin-full"},
    {"held stock is labelled; re-passed on a line that nobody checked it is not released",
     {.faults = LATE},
     BALL("1") "until accepted\nstop\nlabel place=pallet\nhold from=04:00 place=everything\nlabel "
               "place=pallet\nlabel place=moon\nre-pass place=pallet\nre-pass place=store\n"
               "re-pass place=lorry\ncall who=quality\nuntil came\nask who=quality for=release\n"
               "until declined",
     "not-possible why=stock-not-held\nheld complete=yes\nlabelled place=pallet\n"
     "not-possible why=no-such-place\nre-passed place=pallet verified=no\n"
     "asked for=release\ndeclined who=quality for=release",
     "released"},
    {"repaired, checked in full, re-passed and released",
     {.minutes = 60,
      .faults = LATE,
      .stock = "{\"place\": \"pallet\", \"from\": \"05:00\", \"to\": \"06:00\", \"packs\": 10}"},
     BALL("1") "until on-pallet\nfetch pack=1\nfind piece=FE-15-03\nput-back "
               "piece=FE-15-03\nstop\nwrite row=result value=failed\nwrite row=re-check "
               "value=good\nhold from=04:00 place=pallet\n" CALLED("maintenance")
                   CALLED("quality") "ask who=maintenance for=repair\nuntil repaired\nre-pass "
                                     "place=pallet\nstart\n" FULL_CHECK "write row=re-check "
                                     "value=good\nwrite row=result value=failed\nre-pass "
                                     "place=pallet\nask who=quality for=release\nuntil released",
     "row-written row=result truth=true\nrow-written row=re-check truth=ahead\n"
     "repaired fault=reject-shifted\nre-passed verified=no\nrow-written row=re-check truth=true\n"
     "row-written row=result truth=true\nre-passed place=pallet verified=yes\n"
     "released place=everything authority=yes",
     "declined\nreached-in"},
    {"what was judged before the repair does not fail the new check",
     {.minutes = 60, .faults = LATE},
     MADE("1") MADE("2") IN_PACK("FE-15-03", "1") IN_PACK("NF-20-05", "2") SENT("1")
         SENT("2") "until accepted pack=1\nstop\nhold from=04:00 place=everything\n" CALLED(
             "maintenance") "ask who=maintenance for=repair\nuntil repaired\nstart\n"
                            "until on-pallet pack=2\nfetch pack=1\nfetch pack=2\n"
                            "find piece=FE-15-03\nput-back piece=FE-15-03\nfind piece=NF-20-05\n"
                            "put-back piece=NF-20-05\n" FULL_CHECK
                            "write row=re-check value=good\nwrite row=result value=failed",
     "accepted pack=1\nrepaired fault=reject-shifted\naccepted pack=2\n"
     "row-written row=re-check truth=true\nrow-written row=result truth=true",
     NULL},
    {"nor does a good pack whose blow was ordered before it",
     {.minutes = 60, .fed = true, .faults = FAULT("\"reject-late\", \"by_ms\": 750")},
     "until good-run\n" MADE("1") IN_PACK("FE-15-03", "1")
         SENT("1") "until accepted pack=1\nstop\nhold from=04:00 place=everything\ntell "
                   "who=line-leader about=gap\n" CALLED(
                       "maintenance") "ask who=maintenance for=repair\nuntil repaired\nstart\n"
                                      "until removed pack=0\nuntil on-pallet pack=1\nfetch "
                                      "pack=1\nfind piece=FE-15-03\nput-back piece=FE-15-03\n"
                                      "+10s stop\nlock-off\nopen-bin by=line-leader\n"
                                      "examine-rejects\nclose-bin\nunlock\nstart\n" FULL_CHECK
                                      "write row=re-check value=good",
     "repaired fault=reject-shifted\nremoved pack=0\nrow-written row=re-check truth=true",
     NULL},
    {"but what the head judges after it does",
     {.minutes = 60, .faults = LATE},
     BALL("1") "until on-pallet\nfetch pack=1\nstop\n" CALLED(
         "maintenance") "ask who=maintenance for=repair\nuntil repaired\nstart\nset-sensitivity "
                        "percent=1000\nsend pack=1 across_um=0\nuntil accepted pack=1\n"
                        "write row=re-check value=good",
     "repaired fault=reject-shifted\naccepted pack=1\nrow-written row=re-check truth=false",
     NULL},
    {"handed over with a piece out", USUAL,
     "hand-over to=ghost\ntake piece=FE-15-03\nhand-over to=colleague\nput-back piece=FE-15-03\n"
     "refuse piece=NF-20-01\nhand-over to=supervisor",
     "not-possible why=nobody-to-take-over\nhanded-over to=colleague pieces_out=1\n"
     "handed-over to=supervisor pieces_out=0",
     NULL},
};

static void test_people(void **state)
{
    CHECK_ROWS(state, PEOPLE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_pieces), cmocka_unit_test(test_looks),
        cmocka_unit_test(test_finds),  cmocka_unit_test(test_fail_safes),
        cmocka_unit_test(test_people),
    };
    return cmocka_run_group_tests(tests, read_base, end_base);
}
