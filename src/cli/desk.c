/* Opening a store for somebody who proves who they are. */
#include "cli/desk.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/os.h"
#include "scenario/suggest.h"

enum { SECRET_BYTES_MAX = 1024 };

bool desk_secret(const CliOption *option, Text *out, Err *err)
{
    if (!os_file_read(option->value, SECRET_BYTES_MAX, out, err)) return false;
    size_t len = strcspn(text_string(out), "\r\n");
    if (memchr(text_string(out), '\0', out->len) != NULL || len == 0) {
        desk_secret_clear(out);
        return err_set(err, ERR_INPUT, "%s: holds nothing in its first line", option->name);
    }
    rec_wipe(out->bytes + len, out->len - len);
    out->len = len;
    return true;
}

void desk_secret_clear(Text *secret)
{
    if (secret->bytes != NULL) rec_wipe(secret->bytes, secret->capacity);
    text_clear(secret);
}

bool desk_want(const char *verb, const CliOption *option, Err *err)
{
    return option->given || err_set(err, ERR_INPUT, "threepass records %s needs %s %s", verb,
                                    option->name, option->takes);
}

const char *desk_heads_folder(Text *out)
{
    Err none = {0};
    if (!os_state_folder(out, &none)) return NULL;
    text_add(out, "/heads");
    return out->bytes;
}

bool desk_open_store(const char *folder, RecMode mode, Records **out, Err *err)
{
    Text heads = {0};
    RecOutside outside = {.heads = desk_heads_folder(&heads)};
    bool ok = rec_open(folder, mode, THREEPASS_VERSION, &outside, out, err);
    text_clear(&heads);
    return ok;
}

static bool read_site(const CliOption *option, Desk *desk, Err *err)
{
    Text assets = {0};
    if (!option->given) return err_set(err, ERR_INPUT, "threepass: this needs --site DIR");
    bool ok = cli_asset_path("", &assets, err) &&
              work_read_site(text_string(&assets), option->value, &desk->work, err);
    if (ok) desk->site = work_site(desk->work);
    text_clear(&assets);
    return ok;
}

static bool prove_by_passphrase(const CliOption *option, Desk *desk, Err *err)
{
    Text secret = {0};
    PeopleTry tried;
    bool ok = desk_secret(option, &secret, err) &&
              people_open_key(desk->records, desk->author, text_string(&secret), desk->seed, &tried,
                              err) &&
              people_want_right(&tried, "passphrase", err);
    desk_secret_clear(&secret);
    return ok;
}

static bool prove_by_pin(const CliOption *option, Desk *desk, Err *err)
{
    Text secret = {0};
    PeopleTry tried;
    bool ok = desk_secret(option, &secret, err) &&
              people_try_pin(desk->records, desk->author, text_string(&secret), &tried, err) &&
              people_want_right(&tried, "PIN", err);
    desk_secret_clear(&secret);
    return ok;
}

static bool prove(const CliOption options[], unsigned needs, Desk *desk, Err *err)
{
    const CliOption *passphrase = &options[DESK_PASSPHRASE];
    const CliOption *pin = &options[DESK_PIN];
    bool has_passphrase = passphrase->given;
    if (!options[DESK_AS].given) {
        return err_set(err, ERR_INPUT, "threepass: this needs --as NAME: who does it");
    }
    if ((needs & DESK_SIGNER) != 0 && !has_passphrase) {
        return err_set(err, ERR_INPUT,
                       "threepass: this is signed, and needs --passphrase FILE of who does it");
    }
    if (!has_passphrase && !pin->given) {
        return err_set(err, ERR_INPUT,
                       "threepass: this needs --passphrase FILE or --pin FILE of who does it");
    }
    if (!people_find(desk->records, options[DESK_AS].value, desk->author, err)) return false;
    return has_passphrase ? prove_by_passphrase(passphrase, desk, err)
                          : prove_by_pin(pin, desk, err);
}

bool desk_open(const CliOption options[], unsigned needs, Desk *desk, Err *err)
{
    bool reads = (needs & DESK_READS) != 0;
    bool ok =
        cli_store_folder(&options[DESK_STORE], &desk->folder, err) &&
        cli_texts(&desk->texts, err) &&
        ((needs & DESK_AT_SITE) == 0 || read_site(&options[DESK_SITE], desk, err)) &&
        desk_open_store(desk->folder.bytes, reads ? REC_READ : REC_WRITE, &desk->records, err);
    if ((needs & (DESK_AUTHOR | DESK_SIGNER)) != 0) ok = ok && prove(options, needs, desk, err);
    return ok;
}

void desk_close(Desk *desk)
{
    rec_wipe(desk->seed, sizeof desk->seed);
    rec_close(desk->records);
    work_free(desk->work);
    texts_free(desk->texts);
    text_clear(&desk->folder);
    *desk = (Desk){0};
}

bool desk_competence(const Desk *desk, const char *id, const Competence **out, Err *err)
{
    const char *names[COMPETENCES_MAX + 1] = {0};
    *out = competence_find(desk->site, id);
    if (*out != NULL) return true;
    for (int i = 0; i < desk->site->competence_count; i++) {
        names[i] = desk->site->competences[i].id;
    }
    const char *near = suggest_word(id, names);
    return err_set(err, ERR_INPUT, "the site has no competence \"%s\"%s%s%s", id,
                   near == NULL ? "" : "; did you mean \"", near == NULL ? "" : near,
                   near == NULL ? "" : "\"?");
}

bool desk_add_name(Records *records, const char *person, Text *out, Err *err)
{
    Text name = {0};
    bool found = false;
    if (!rec_person_name(records, person, &name, &found, err)) return false;
    text_add(out, !found ? person : name.len == 0 ? "(name erased)" : name.bytes);
    text_clear(&name);
    return true;
}

int desk_answer(bool ok, Text *out, const Err *err)
{
    int code = ok ? cli_print(out, CLI_DONE) : cli_fail(err);
    text_clear(out);
    return code;
}
