/* Programs killed at random moments while they write to a store: `threepass play --store`, and a
 * child that adds to two stores and carries bundles from one to the other. Afterwards each store
 * verifies and holds every entry that was acknowledged, by the program on its standard output.
 *
 * The tests kill 20 times, and `test_store_killed 200` as often as it says. What a power cut does
 * is in test_store_crash.c: here the system lives on, so nothing that was written is lost. */
#define _GNU_SOURCE
#include "unit/records/kinds.h"

#include <fcntl.h>
#include <signal.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "base/random.h"
#include "records/bundle.h"

enum { ROUNDS = 20, LATE_US = 4000, WAIT_US = 30000000 };

typedef struct {
    Text folder;    /* of all that is below */
    Text main, far; /* stores */
    Text bundle;
    Text said;                                  /* a file: what the child acknowledged */
    RecNumber main_number, far_number, carried; /* acknowledged: own entries, far's in main */
    int rounds;
    int acknowledged, in_writing; /* how many rounds said something; were killed in a writing */
    Random luck;
} World;

static int64_t now_us(void)
{
    return os_uptime_us();
}

static void sleep_us(int64_t us)
{
    const struct timespec wait = {us / 1000000, us % 1000000 * 1000};
    (void)nanosleep(&wait, NULL);
}

/* --- In the child ---------------------------------------------------------------------------- */

static void must(bool ok, int place, const Err *err)
{
    if (ok) return;
    print_error("place %d: %s\n", place, err->text);
    _exit(place);
}

/* One line to the file, whole or not at all, that outlives us. */
static void acknowledge(int fd, const char *what, RecNumber number)
{
    char line[64];
    int len = snprintf(line, sizeof line, "%s %lld\n", what, (long long)number);
    if (write(fd, line, (size_t)len) != len) _exit(20);
}

static RecNumber last_of(Records *records, const char *station)
{
    Err err = {0};
    RecHead *heads = NULL;
    size_t count = 0;
    RecNumber number = 0;
    must(rec_heads(records, &heads, &count, &err), 2, &err);
    for (size_t i = 0; i < count; i++) {
        if (strcmp(heads[i].station, station) == 0) number = heads[i].number;
    }
    free(heads);
    return number;
}

static Records *open_for_writing(const Text *folder)
{
    Err err = {0};
    Records *records = NULL;
    must(rec_open(folder->bytes, REC_CREATE, "0.1.0", NULL, &records, &err), 3, &err);
    return records;
}

/* Add to the far store, carry it to the main one, add there. Ended by being killed alone. */
static void carry_for_ever(const World *world, int fd)
{
    for (;;) {
        Err err = {0};
        RecNumber number = 0;
        RecExported out;
        RecImported in;
        char far_station[REC_ID_BYTES];
        Records *far = open_for_writing(&world->far);
        must(add_remark(far, "station", 1, "far away", &number, &err), 4, &err);
        acknowledge(fd, "far", number);
        must(rec_bundle_export(far, NULL, 0, world->bundle.bytes, &out, &err), 5, &err);
        memcpy(far_station, rec_station(far), REC_ID_BYTES);
        rec_close(far);
        Records *records = open_for_writing(&world->main);
        must(rec_bundle_import(records, world->bundle.bytes, true, &in, &err), 6, &err);
        acknowledge(fd, "carried", last_of(records, far_station));
        acknowledge(fd, "main", last_of(records, rec_station(records)));
        must(add_remark(records, "station", 1, "at home", &number, &err), 7, &err);
        acknowledge(fd, "main", number);
        rec_close(records);
    }
}

static void play(const World *world, int fd)
{
    Text state = path_in(&world->folder, "state");
    if (dup2(fd, STDOUT_FILENO) < 0 || setenv("XDG_STATE_HOME", state.bytes, 1) != 0) _exit(8);
    (void)execl(THREEPASS_PROGRAM, "threepass", "play", "scenarios/ostrel-mill/another-door.json",
                "--script", "scenarios/ostrel-mill/another-door.right.txt", "--store",
                world->main.bytes, "--person", "Sam", (char *)NULL);
    _exit(9);
}

/* --- Outside it ------------------------------------------------------------------------------ */

static pid_t start(const World *world, bool plays)
{
    int fd = open(world->said.bytes, O_WRONLY | O_CREAT | O_TRUNC | O_APPEND | O_CLOEXEC, 0600);
    assert_true(fd >= 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0 && plays) play(world, fd);
    if (child == 0) carry_for_ever(world, fd);
    assert_int_equal(close(fd), 0);
    return child;
}

/* What to see before the time until the kill begins. */
typedef enum { SEE_NOTHING, SEE_WRITING, SEE_CARRIED } See;

static bool is_seen(const World *world, See what)
{
    bool is = true;
    if (what == SEE_WRITING) {
        Text journal = path_in(&world->main, "store.db-journal");
        is = os_is_file(journal.bytes);
        text_clear(&journal);
    } else if (what == SEE_CARRIED) {
        Text said = read_file(&world->folder, "said");
        is = strstr(text_string(&said), "carried ") != NULL;
        text_clear(&said);
    }
    return is;
}

/* Kill the child so long after that was seen. It may have ended. */
static void kill_at(const World *world, pid_t child, int64_t after_us, See what)
{
    int64_t began_us = now_us();
    int status = 0;
    bool has_ended = false;
    while (!has_ended && !is_seen(world, what) && now_us() - began_us < WAIT_US) {
        has_ended = waitpid(child, &status, WNOHANG) == child;
        sleep_us(100);
    }
    if (!has_ended) {
        sleep_us(after_us);
        assert_int_equal(kill(child, SIGKILL), 0); /* not waited for yet, so still this child */
        assert_int_equal(waitpid(child, &status, 0), child);
    }
    if (WIFEXITED(status) && WEXITSTATUS(status) > 1) {
        fail_msg("the child could not go on: %d", WEXITSTATUS(status));
    }
}

static void take_number(const char *line, const char *what, RecNumber *number)
{
    size_t len = strlen(what);
    RecNumber said = strncmp(line, what, len) == 0 ? strtoll(line + len, NULL, 10) : 0;
    if (said > *number) *number = said;
}

/* What the child acknowledged. */
static void hear(World *world)
{
    Text said = read_file(&world->folder, "said");
    for (const char *line = text_string(&said); *line != '\0'; line++) {
        take_number(line, "main ", &world->main_number);
        take_number(line, "Recorded as entry ", &world->main_number);
        take_number(line, "far ", &world->far_number);
        take_number(line, "carried ", &world->carried);
        line += strcspn(line, "\n");
        if (*line == '\0') break;
    }
    if (said.len > 0) world->acknowledged++;
    text_clear(&said);
}

/* The store goes on, verifies, and holds its own entries up to `number`, and of others so many in
 * all. */
static void check_store(World *world, const Text *folder, RecNumber number, RecNumber others)
{
    Err err = {0};
    Records *records = NULL;
    RecHead *heads = NULL;
    size_t count = 0;
    RecNumber own = 0;
    RecNumber foreign = 0;
    Text journal = path_in(folder, "store.db-journal");
    if (os_is_file(journal.bytes)) world->in_writing++;
    text_clear(&journal);
    RecMode mode = number > 0 ? REC_WRITE : REC_CREATE;
    assert_ok(rec_open(folder->bytes, mode, "0.1.0", NULL, &records, &err));
    assert_ok(rec_heads(records, &heads, &count, &err));
    for (size_t i = 0; i < count; i++) {
        if (strcmp(heads[i].station, rec_station(records)) == 0)
            own = heads[i].number;
        else
            foreign += heads[i].number;
    }
    free(heads);
    rec_close(records);
    if (own < number || foreign < others) {
        fail_msg("%lld entries and %lld of others, acknowledged %lld and %lld", (long long)own,
                 (long long)foreign, (long long)number, (long long)others);
    }
    RecReport report = {0};
    assert_ok(rec_verify(folder->bytes, NULL, NULL, NULL, &report, &err));
    if (report.finding_count > 0) {
        print_report(&report);
        fail_msg("%zu findings", report.finding_count);
    }
    rec_report_clear(&report);
}

/* How long the program takes when nobody kills it. */
static int64_t whole_us(World *world)
{
    int status = 0;
    int64_t began_us = now_us();
    pid_t child = start(world, true);
    assert_int_equal(waitpid(child, &status, 0), child);
    int64_t took_us = now_us() - began_us;
    hear(world);
    if (!WIFEXITED(status) || world->main_number == 0) fail_msg("play recorded nothing");
    return took_us;
}

static void test_killed(void **state)
{
    World *world = *state;
    int64_t play_us = whole_us(world);
    for (int round = 0; round < world->rounds; round++) {
        bool plays = round % 2 == 0;
        See what = round % 4 >= 2 ? SEE_WRITING : plays ? SEE_NOTHING : SEE_CARRIED;
        uint64_t most_us = what == SEE_WRITING ? LATE_US : (uint64_t)play_us * 11 / 10;
        pid_t child = start(world, plays);
        kill_at(world, child, (int64_t)random_below(&world->luck, most_us), what);
        hear(world);
        check_store(world, &world->main, world->main_number, world->carried);
        check_store(world, &world->far, world->far_number, 0);
    }
    print_message("killed %d times: %d had said something, %d journals left; %lld entries at home, "
                  "%lld carried of %lld\n",
                  world->rounds, world->acknowledged - 1, world->in_writing,
                  (long long)world->main_number, (long long)world->carried,
                  (long long)world->far_number);
    assert_true(world->acknowledged > 1 && world->carried > 0);
}

int main(int argc, char **argv)
{
    World world = {.rounds = argc > 1 ? (int)strtol(argv[1], NULL, 10) : ROUNDS};
    uint64_t seed = argc > 2 ? strtoull(argv[2], NULL, 10) : 1;
    CHECK(world.rounds > 0);
    random_init(&world.luck, seed);
    if (os_is_folder("/dev/shm")) CHECK(setenv("TMPDIR", "/dev/shm", 0) == 0);
    new_folder(&world.folder);
    world.main = path_in(&world.folder, "main");
    world.far = path_in(&world.folder, "far");
    world.bundle = path_in(&world.folder, "bundle");
    world.said = path_in(&world.folder, "said");
    const struct CMUnitTest tests[] = {cmocka_unit_test_prestate(test_killed, &world)};
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    if (failed == 0) {
        Text command = {0};
        text_addf(&command, "rm -r '%s'", world.folder.bytes);
        failed = system(command.bytes) == 0 ? 0 : 1;
        text_clear(&command);
    } else {
        print_error("seed %llu; the stores are in %s\n", (unsigned long long)seed,
                    world.folder.bytes);
    }
    text_clear(&world.main);
    text_clear(&world.far);
    text_clear(&world.bundle);
    text_clear(&world.said);
    text_clear(&world.folder);
    return failed;
}
