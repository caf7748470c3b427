/* What the verbs of `threepass records` share: the store, who is at work, and their proof.
 *
 * A verb of records is one function
 *
 *     int records_name(int argc, char **argv)
 *
 * declared below and named in the table of records.c. Secrets come from files or standard input,
 * never from the words of the command, which others on the machine can read, nor from the
 * environment; they are wiped after use. */
#ifndef CLI_DESK_H
#define CLI_DESK_H

#include "app/sign_off.h"
#include "cli/cli.h"

/* Options that many verbs have, at the front of their tables. */
typedef enum {
    DESK_STORE,
    DESK_SITE,
    DESK_AS,
    DESK_PASSPHRASE,
    DESK_PIN,
    DESK_OPTION_COUNT
} DeskOption;
#define DESK_OPTIONS                                                                               \
    [DESK_STORE] = {.name = "--store", .takes = "DIR"},                                            \
    [DESK_SITE] = {.name = "--site", .takes = "DIR"},                                              \
    [DESK_AS] = {.name = "--as", .takes = "NAME"},                                                 \
    [DESK_PASSPHRASE] = {.name = "--passphrase", .takes = "FILE"},                                 \
    [DESK_PIN] = {.name = "--pin", .takes = "FILE"}

/* What a verb needs. */
enum {
    DESK_READS = 1,   /* the store is only read */
    DESK_AUTHOR = 2,  /* --as, proved by --passphrase or --pin */
    DESK_SIGNER = 4,  /* --as, proved by --passphrase, whose key is opened */
    DESK_AT_SITE = 8, /* --site */
};

/* All zeros is empty; desk_close wipes and ends it. */
typedef struct {
    Records *records;
    Text folder;
    char author[REC_ID_BYTES];
    unsigned char seed[REC_SEED_BYTES]; /* of a signer */
    Work *work;
    const Site *site; /* in `work` */
    Texts *texts;
} Desk;

/* Open what a verb needs, by its options. ERR_INPUT says what is missing or wrong. */
MUST_USE bool desk_open(const CliOption options[], unsigned needs, Desk *desk, Err *err);
void desk_close(Desk *desk);

/* Read and clear one secret: the file's first line; "-" is standard input. */
MUST_USE bool desk_secret(const CliOption *option, Text *out, Err *err);
void desk_secret_clear(Text *secret);

/* ERR_INPUT when a verb's option is not given. */
MUST_USE bool desk_want(const char *verb, const CliOption *option, Err *err);

/* The competence of that id, with the nearest in the error. */
MUST_USE bool desk_competence(const Desk *desk, const char *id, const Competence **out, Err *err);

/* Append a person's name, or the id once it was erased. */
MUST_USE bool desk_add_name(Records *records, const char *person, Text *out, Err *err);

/* The folder of heads that are kept outside of stores, held by `out`; NULL where this person has no
 * place for such: then none are kept, and verify says so. */
const char *desk_heads_folder(Text *out);

/* Open a store with its heads outside. */
MUST_USE bool desk_open_store(const char *folder, RecMode mode, Records **out, Err *err);

/* Print what was done, or fail; ends `out`. */
int desk_answer(bool ok, Text *out, const Err *err);

/* The verbs. */
typedef int RecordsVerb(int argc, char **argv);
int records_init(int argc, char **argv);
int records_person(int argc, char **argv);
int records_role(int argc, char **argv);
int records_assign(int argc, char **argv);
int records_erase(int argc, char **argv);
int records_pin(int argc, char **argv);
int records_passphrase(int argc, char **argv);
int records_observe(int argc, char **argv);
int records_sign(int argc, char **argv);
int records_acknowledge(int argc, char **argv);
int records_withdraw(int argc, char **argv);
int records_void(int argc, char **argv);
int records_correct(int argc, char **argv);
int records_paper(int argc, char **argv);
int records_export(int argc, char **argv);
int records_import(int argc, char **argv);
int records_backup(int argc, char **argv);
int records_standing(int argc, char **argv);
int records_show(int argc, char **argv);
int records_verify(int argc, char **argv);

#endif
