/* The records on the command line: a store from its first supervisor to a withdrawn signature, and
 * what each verb refuses, to the letter. Only the run that counts is made through app/, as the
 * window makes it: what a script plays never counts. */
#include "program.h"

#include <stdio.h>

#include "app/script.h"

#define MILL "--site \"$TREE\"/scenarios/ostrel-mill "
#define RENSKE "--as Renske --passphrase renske.words "
#define MARIT "--as Marit --pin marit.pin "
#define YES "yes,yes,yes,yes,yes,yes,yes,yes,yes,yes,yes,yes"
#define SEEN                                                                                       \
    "observe Ife check-packs " MILL "--line b1 --on $(date -u +%F) --sheet C-1 --answers " YES " "

/* Run a verb of records on the store `name`; exit code, all of standard error, and a part of what
 * is printed. */
static void expect(const char *folder, const char *name, const char *arguments, int code,
                   const char *out, const char *err)
{
    Call call;
    Text command = {0};
    text_addf(&command, "records %s --store %s", arguments, name);
    run(folder, command.bytes, &call);
    const char *said = text_string(&call.out);
    const char *blamed = text_string(&call.err);
    if (call.code != code || strstr(said, out) == NULL || strcmp(blamed, err) != 0) {
        fail_msg("%s: code %d, out:\n%.2000s\nerr:\n%.1000s", command.bytes, call.code, said,
                 blamed);
    }
    if (code == 2) assert_int_equal(call.out.len, 0);
    call_clear(&call);
    text_clear(&command);
}

static void write_secrets(const char *folder)
{
    write_file(folder, "renske.words", "correct horse battery staple\n");
    write_file(folder, "kwame.words", "seven lorries in the rain\r\n");
    write_file(folder, "other.words", "quite other words now");
    write_file(folder, "marit.pin", "2468\n");
    write_file(folder, "ife.pin", "1357\n");
    write_file(folder, "wrong.pin", "1111\n");
    write_file(folder, "empty", "\n");
}

/* A store with Renske, Kwame (supervisor, quality), Marit (assessor) and Ife. */
static void make_store(const char *folder, const char *name)
{
    write_secrets(folder);
    expect(folder, name, "init --name Renske --passphrase renske.words", 0,
           "Recovery code of Renske", "");
    expect(folder, name, "person Kwame Marit Ife " RENSKE, 0, "Kwame is here.\nMarit is here.\nIfe",
           "");
    expect(folder, name, "role Marit assessor " RENSKE, 0, "Marit has the role assessor.\n", "");
    expect(folder, name, "role Kwame quality " RENSKE, 0, "Kwame has the role quality.\n", "");
    expect(folder, name, "pin Marit --new marit.pin " RENSKE, 0, "Marit has a new PIN.\n", "");
    expect(folder, name, "pin Ife --new ife.pin " RENSKE, 0, "Ife has a new PIN.\n", "");
}

/* Ife's supervised run, live; as the window records it. */
static void record_run(const char *folder, const char *name)
{
    Err err = {0};
    Work *work = NULL;
    AppRun *run = NULL;
    Records *records = NULL;
    Text script = {0};
    Text path = {0};
    RecNumber number = 0;
    bool found = false;
    char ife[REC_ID_BYTES];
    AppRunSetup setup = {.seed = 1, .is_assessment = true};
    text_addf(&path, "%s/%s", folder, name);
    read_file("scenarios/ostrel-mill", "nine-passes.right.txt", &script);
    bool ok =
        rec_open(path.bytes, REC_WRITE, "0.1.0", NULL, &records, &err) &&
        rec_person_find(records, "Marit", setup.supervised_by, &found, &err) &&
        rec_person_find(records, "Ife", ife, &found, &err) &&
        work_read("assets", "scenarios/ostrel-mill", "nine-passes.json", NULL, NULL, &work, &err) &&
        app_run_begin(work, &setup, &run, &err) &&
        script_play(run, "right", script.bytes, script.len, &err) &&
        app_run_record(run, records, ife, &number, &err);
    if (!ok) fail_msg("%s", err.text);
    rec_close(records);
    app_run_free(run);
    work_free(work);
    text_clear(&script);
    text_clear(&path);
}

/* The number of the last entry of a kind. */
static void last_entry(const char *folder, const char *name, const char *kind, char number[24])
{
    Call call;
    Text command = {0};
    number[0] = '\0';
    text_addf(&command, "records show --store %s", name);
    run(folder, command.bytes, &call);
    for (char *line = call.out.bytes; line != NULL && *line != '\0';) {
        char *end = strchr(line, '\n');
        *end = '\0';
        char *found = strstr(line, kind);
        /* "     7  2026-11-25T21:32:51Z  kind" */
        if (found != NULL && found - line == 30) (void)snprintf(number, 24, "%ld", atol(line));
        line = end + 1;
    }
    assert_true(number[0] != '\0');
    call_clear(&call);
    text_clear(&command);
}

static void about(const char *folder, const char *name, const char *verb, const char *number,
                  const char *rest, int code, const char *out, const char *err)
{
    Text command = {0};
    text_addf(&command, "%s %s %s", verb, number, rest);
    expect(folder, name, command.bytes, code, out, err);
    text_clear(&command);
}

/* --- The story ------------------------------------------------------------------------------- */

static void test_records_story(void **state)
{
    const char *folder = folder_of(state);
    char number[24];
    make_store(folder, "mill");
    expect(folder, "mill", "assign Ife check-packs " MILL RENSKE, 0, "Ife learns", "");
    expect(folder, "mill", "standing Ife --competence check-packs " MILL, 1,
           "check-packs): in-training", "");
    record_run(folder, "mill");
    expect(folder, "mill", "sign Ife check-packs " MILL RENSKE "--write", 1,
           "names no observation that counts", "");
    expect(folder, "mill", SEEN "--good " MARIT, 0, "Recorded as entry ", "");
    expect(folder, "mill", "sign Ife check-packs " MILL RENSKE, 0,
           "Nothing was signed; --write does it.\n", "");
    expect(folder, "mill", "standing Ife --competence check-packs --json " MILL, 1,
           "\"state\": \"observed\"", "");
    expect(folder, "mill", "sign Ife check-packs --line b1 --line d1 " MILL RENSKE "--write", 0,
           "Lines: b1 d1\n", "");
    expect(folder, "mill", "standing Ife --competence check-packs --json " MILL, 0,
           "\"lines\": [\"d1\", \"b1\"]", "");
    expect(folder, "mill", "standing Ife " MILL, 1, "(failed-check): in-training", "");
    last_entry(folder, "mill", "signature", number);
    about(folder, "mill", "acknowledge", number, MARIT, 2, "",
          "only the person acknowledges what is about them\n");
    about(folder, "mill", "acknowledge", number, "--as Ife --pin ife.pin", 0, "acknowledged.\n",
          "");
    about(folder, "mill", "withdraw", number, "--reason concern " MARIT, 2, "",
          "threepass: this is signed, and needs --passphrase FILE of who does it\n");
    about(folder, "mill", "withdraw", number, "--reason concern " RENSKE, 0, "withdrawn.\n", "");
    expect(folder, "mill", "standing Ife --competence check-packs " MILL, 1, "): withdrawn", "");
    about(folder, "mill", "withdraw", number, "--reason again " RENSKE, 2, "",
          "it is withdrawn already\n");
    last_entry(folder, "mill", "run", number);
    about(folder, "mill", "void", number, "--reason 'fire alarm' " MARIT, 0, "is void.\n", "");
    about(folder, "mill", "correct", number,
          "--text 'it was line b1' --reason 'wrong line named' " MARIT, 0, "corrected", "");
    expect(folder, "mill", "show", 0, "text: it was line b1, reason: wrong line named\n", "");
    expect(folder, "mill", "verify", 0, "2 signatures.\nNothing was altered.\n", "");
    expect(folder, "mill", "verify --head mill/head", 0, "Nothing was altered.\n", "");
    expect(folder, "mill", "erase Ife --reason left --as Renske --passphrase renske.words", 0,
           "texts were deleted here for good.", "");
    expect(folder, "mill", "verify", 0, "Nothing was altered.\n", "");
    expect(folder, "mill", "standing Ife " MILL, 2, "", "nobody here is called \"Ife\"\n");
}

/* A run by script is kept with who was beside, and counts for nothing. */
static void test_records_scripted(void **state)
{
    const char *folder = folder_of(state);
    Call call;
    make_store(folder, "scripted");
    run(folder,
        "play \"$TREE\"/scenarios/ostrel-mill/nine-passes.json --script "
        "\"$TREE\"/scenarios/ostrel-mill/nine-passes.right.txt --assessment --language pl "
        "--store scripted --person Ife --supervised-by Marit",
        &call);
    if (call.code != 0) fail_msg("%s", text_string(&call.err));
    call_clear(&call);
    expect(folder, "scripted", "show", 0, "run      Ife, assessment, scripted, nine-passes (", "");
    expect(folder, "scripted", "show", 0, "), beside Marit: competent", "");
    expect(folder, "scripted", "sign Ife check-packs " MILL RENSKE "--write", 1,
           "Played from a script", "");
}

/* --- Papers ---------------------------------------------------------------------------------- */

static void test_records_paper(void **state)
{
    const char *folder = folder_of(state);
    make_store(folder, "papers");
    write_file(folder, "bad.csv",
               "name,competence,signed_on,good_until,signed_by,lines\n"
               "Iffe,check-packs,2026-09-01,2027-09-01,Bo,\n"
               "Ife,check-packs,2026-09-01,2027-09-01,Bo,b9\n");
    expect(folder, "papers", "paper bad.csv " MILL RENSKE, 1, "2 errors. Nothing was written.\n",
           "bad.csv:2:1: error: nobody here is called \"Iffe\"; did you mean \"Ife\"?\n"
           "bad.csv:3:6: error: line \"b9\" is none of the competence \"check-packs\"\n");
    write_file(folder, "short.csv", "name,competence\n");
    expect(folder, "papers", "paper short.csv " MILL RENSKE, 2, "",
           "short.csv:1:1: error: there is no heading \"signed_on\"\n");
    write_file(folder, "good.csv",
               "name;competence;signed_on;good_until;signed_by;lines\r\n"
               "Ife;check-packs;2026-09-01;2099-09-01;Bo;b1 d1\r\n");
    expect(folder, "papers", "paper good.csv " MILL RENSKE, 0,
           "1 new, 0 here already. Nothing was written; --write does it.\n", "");
    expect(folder, "papers", "paper good.csv " MILL RENSKE "--write", 0,
           "Written, as from paper.\n", "");
    expect(folder, "papers", "paper good.csv " MILL RENSKE "--write", 0,
           "There is nothing to write.\n", "");
}

/* --- Keys ------------------------------------------------------------------------------------ */

static void test_records_keys(void **state)
{
    const char *folder = folder_of(state);
    make_store(folder, "keys");
    expect(folder, "keys", "passphrase Kwame --new kwame.words " RENSKE, 2, "",
           "the first passphrase is set by the person, with --pin FILE\n");
    expect(folder, "keys", "pin Kwame --new ife.pin " RENSKE, 0, "Kwame has a new PIN.\n", "");
    expect(folder, "keys", "passphrase Kwame --new kwame.words --pin ife.pin", 0, "Recovery code",
           "");
    expect(folder, "keys", "passphrase Kwame --new other.words --pin ife.pin", 2, "",
           "a PIN opens no signing key: give --old or --recovery, or let another supervisor give a "
           "new one\n");
    expect(folder, "keys", "passphrase Kwame --new other.words --old wrong.pin", 2, "",
           "that is not the passphrase\n");
    expect(folder, "keys", "passphrase Kwame --new other.words --old kwame.words", 0,
           "Kwame has a new passphrase.\n", "");
    expect(folder, "keys", "passphrase Kwame --new kwame.words --recovery wrong.pin", 2, "",
           "the recovery code has 4 characters, it needs 28\n");
    expect(folder, "keys", "passphrase Kwame --new kwame.words " RENSKE, 0, "Recovery code", "");
    expect(folder, "keys", "person Bram --as Kwame --passphrase kwame.words", 2, "",
           "the author is no supervisor or trainer\n");
    for (int i = 0; i < 3; i++) {
        expect(folder, "keys", "pin Ife --new marit.pin --pin wrong.pin", 2, "",
               "that is not the PIN\n");
    }
    expect(folder, "keys", "pin Ife --new marit.pin --pin wrong.pin", 2, "",
           "that is not the PIN; the next try may be in 5 s\n");
    expect(folder, "keys", "show", 0, "attempt  about Ife, pin, failed tries 4\n", "");
}

/* --- Carrying -------------------------------------------------------------------------------- */

static void test_records_carry(void **state)
{
    const char *folder = folder_of(state);
    make_store(folder, "here");
    expect(folder, "there", "init --name Kwame --passphrase kwame.words", 0, "Recovery code", "");
    expect(folder, "here", "export", 2, "", "threepass records export needs --out FILE\n");
    expect(folder, "here", "export --out here.bundle", 0, "here.bundle holds ", "");
    expect(folder, "there", "import here.bundle --new-station", 0, " entries came, 0 were here",
           "");
    expect(folder, "there", "import here.bundle", 0, "here.bundle: 0 entries came, ", "");
    expect(folder, "there", "show", 0, "\nstation ", "");
    expect(folder, "there", "verify", 0, "Nothing was altered.", "");
    expect(folder, "here", "backup copy", 0, "Copied to copy.", "");
    expect(folder, "copy", "verify", 0, "Nothing was altered.", "");
}

/* --- Refusals -------------------------------------------------------------------------------- */

static void test_records_refuses(void **state)
{
    static const struct {
        const char *arguments, *says;
    } rows[] = {
        {"init --passphrase renske.words", "threepass records init needs --name NAME"},
        {"init --name Bram", "threepass records init needs --passphrase FILE"},
        {"init --name Bram --passphrase renske.words",
         "refused: has a supervisor already, who adds people from now on"},
        {"init --name Bram --passphrase empty", "--passphrase: holds nothing in its first line"},
        {"init --name Bram --passphrase nowhere",
         "nowhere: cannot open: No such file or directory"},
        {"person Bram", "threepass: this needs --as NAME: who does it"},
        {"person Bram --as Renske",
         "threepass: this needs --passphrase FILE or --pin FILE of who does it"},
        {"person Bram --as Renske --pin ife.pin", "the person has no PIN here yet"},
        {"person Bram " MARIT, "the author is no supervisor or trainer"},
        {"person Ife " RENSKE, "\"Ife\" is here already; names must differ"},
        {"person Bram --role boss " RENSKE,
         "Bram was added, without the role: role is not well-formed"},
        {"role Ife assessor " MARIT, "the author is no supervisor"},
        {"role Renske supervisor --take " RENSKE, "no supervisor takes that role from themselves"},
        {"role Ifa assessor " RENSKE, "nobody here is called \"Ifa\"; did you mean \"Ife\"?"},
        {"assign Ife check-packs " RENSKE, "threepass: this needs --site DIR"},
        {"assign Ife check-pack " MILL RENSKE,
         "the site has no competence \"check-pack\"; did you mean \"check-packs\"?"},
        {"pin Ife --new renske.words " RENSKE, "a PIN is 4 to 8 digits"},
        {"pin Ife " RENSKE, "threepass records pin needs --new FILE"},
        {SEEN MARIT, "threepass records observe needs one of --good and --bad"},
        {"observe Ife check-packs " MILL "--line b1 --on 2026-01-05 --answers yes --good " MARIT,
         "threepass records observe needs --sheet NUMBER"},
        {"observe Ife check-packs " MILL
         "--line b1 --on 2026-01-05 --sheet C-1 --answers yes --good " MARIT,
         "1 answers to a checklist of 12"},
        {SEEN "--good --as Ife --pin ife.pin", "nobody judges or signs for themselves"},
        {"sign Ife check-packs " MILL "--decision perhaps " RENSKE,
         "threepass: --decision is \"perhaps\", must be one of signed, with-buddy, refused"},
        {"sign Ife check-packs " MILL MARIT,
         "threepass: this is signed, and needs --passphrase FILE of who does it"},
        {"withdraw 9999999 --reason x " RENSKE, "there is no entry \"9999999\""},
        {"withdraw abc --reason x " RENSKE,
         "\"abc\" names no entry: give its number, or eight digits of its hash"},
        {"withdraw 3 " RENSKE, "threepass records withdraw needs --reason TEXT"},
        {"void 3 --reason x " MARIT, "only a run can be void, not a person"},
        {"erase Ife --reason left " MARIT, "the author is no supervisor or quality"},
        {"verify --head empty", "line 1 of the head is no station"},
        {"show --script 1 x", "threepass records show: 1 words behind it, limit 0..0; see "
                              "threepass records show --help"},
    };
    const char *folder = folder_of(state);
    make_store(folder, "refused");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Text says = {0};
        text_addf(&says, "%s\n", rows[i].says);
        expect(folder, "refused", rows[i].arguments, 2, "", says.bytes);
        text_clear(&says);
    }
    expect(folder, "refused", "verify", 0, "Nothing was altered.", "");
}

/* --- The world ------------------------------------------------------------------------------- */

/* Run a whole command of the shell in the folder; its exit code and what it says on standard error
 * somewhere. $THREEPASS is the program. */
static void expect_shell(const char *folder, const char *script, int code, const char *err)
{
    Text command = {0};
    Text said = {0};
    text_addf(&command,
              "cd '%s' && export XDG_STATE_HOME=\"$PWD/state\" THREEPASS='%s' && { %s; } "
              ">out 2>err </dev/null",
              folder, THREEPASS_PROGRAM, script);
    int status = system(command.bytes);
    read_file(folder, "err", &said);
    if (WEXITSTATUS(status) != code || strstr(text_string(&said), err) == NULL) {
        fail_msg("%s: %d, %s", script, WEXITSTATUS(status), text_string(&said));
    }
    text_clear(&command);
    text_clear(&said);
}

/* Another format or another application's mark in the head of the file, a folder that may only be
 * read, and a disk that is full: one line each, and the store is as it was. */
static void test_records_world(void **state)
{
    const char *folder = folder_of(state);
    make_store(folder, "world");
    expect_shell(folder,
                 "cp -r world newer && printf '\\000\\000\\000\\003' | dd of=newer/store.db "
                 "bs=1 seek=60 conv=notrunc 2>/dev/null && $THREEPASS records show --store newer",
                 2, "newer/store.db: its format is 3, this program knows 2 only");
    expect_shell(folder,
                 "cp -r world foreign && printf '\\000\\000\\000\\005' | dd of=foreign/store.db "
                 "bs=1 seek=68 conv=notrunc 2>/dev/null && $THREEPASS records show --store foreign",
                 2, "foreign/store.db: is empty or a database of another program");
    expect_shell(folder,
                 "cp -r world full && trap '' XFSZ && ulimit -f 8 && $THREEPASS records "
                 "person Bram --as Renske --passphrase renske.words --store full",
                 2, "full");
    expect(folder, "full", "verify", 0, "Nothing was altered.", "");
    /* Whoever may do anything has to become somebody who may not. */
    expect_shell(
        folder,
        "chmod 755 . && cp -r world shut && chmod -R a+rX shut && chmod -R a-w shut && "
        "if test \"$(id -u)\" = 0; then setpriv --reuid=65534 --clear-groups \"$THREEPASS\" "
        "records pin Ife --new ife.pin --as Renske --passphrase renske.words --store shut; "
        "else \"$THREEPASS\" records pin Ife --new ife.pin --as Renske --passphrase "
        "renske.words --store shut; fi",
        2, "shut");
    expect_shell(folder, "$THREEPASS records show --store world >/dev/full", 2,
                 "cannot write to standard output");
    expect_shell(folder,
                 "cp -r world cut && sed -i 's/^\\([0-9]*\\)$/9\\1/' cut/head && $THREEPASS "
                 "records verify --store cut",
                 1, "");
}

/* What is typed comes from standard input too, and is never told again. */
static void test_records_secrets(void **state)
{
    const char *folder = folder_of(state);
    make_store(folder, "secrets");
    expect_shell(folder,
                 "echo 'correct horse battery staple' | $THREEPASS records person Bram --as Renske "
                 "--passphrase - --store secrets && ! grep -r 'horse battery' secrets state",
                 0, "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_records_story),   cmocka_unit_test(test_records_scripted),
        cmocka_unit_test(test_records_paper),   cmocka_unit_test(test_records_keys),
        cmocka_unit_test(test_records_refuses), cmocka_unit_test(test_records_world),
        cmocka_unit_test(test_records_secrets), cmocka_unit_test(test_records_carry),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
