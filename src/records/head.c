/* Heads. */
#include "records/head.h"

#include <string.h>

#include "base/os.h"
#include "records/verify.h"

/* --- Five lines ------------------------------------------------------------------------------ */

/* The four lines that are signed. */
static void print_lines(const RecHead *states, Text *out)
{
    char hash[REC_BASE64_BYTES];
    rec_base64_print(&states->hash, hash);
    text_addf(out, "%s\n%lld\n%s\n%s\n", states->station, (long long)states->number, hash,
              states->time);
}

void rec_head_print_signed(const RecSignedHead *head, Text *out)
{
    char base64[REC_SIGNATURE_BASE64_BYTES];
    rec_base64_print_signature(head->signature, base64);
    print_lines(&head->states, out);
    text_addf(out, "%s\n", base64);
}

void rec_head_print(const RecEntry *last, const unsigned char *seed, Text *out)
{
    RecSignedHead head = {.states = {.number = last->number, .hash = last->hash}};
    Text lines = {0};
    memcpy(head.states.station, last->station, REC_ID_BYTES);
    memcpy(head.states.time, last->time, REC_STAMP_BYTES);
    print_lines(&head.states, &lines);
    rec_ed25519_sign(seed, lines.bytes, lines.len, head.signature);
    rec_head_print_signed(&head, out);
    text_clear(&lines);
}

/* Copy one line of less than `size` bytes, and move on behind its end. */
static bool take_line(const char **at, char *out, size_t size)
{
    size_t len = strcspn(*at, "\n");
    if ((*at)[len] != '\n' || len >= size) return false;
    memcpy(out, *at, len);
    out[len] = '\0';
    *at += len + 1;
    return true;
}

bool rec_head_read(const Text *text, RecSignedHead *out)
{
    char count[24];
    char hash[REC_BASE64_BYTES];
    char signature[REC_SIGNATURE_BASE64_BYTES];
    RecSignedHead head = {0};
    int64_t time_us = 0;
    const char *at = text_string(text);
    Text again = {0};
    bool ok = take_line(&at, head.states.station, sizeof head.states.station) &&
              take_line(&at, count, sizeof count) && take_line(&at, hash, sizeof hash) &&
              take_line(&at, head.states.time, sizeof head.states.time) &&
              take_line(&at, signature, sizeof signature) && at == text_string(text) + text->len &&
              rec_is_id(head.states.station) && text_to_int(count, &head.states.number) &&
              head.states.number >= 1 && rec_stamp_read(head.states.time, &time_us) &&
              rec_base64_read(hash, &head.states.hash) &&
              rec_base64_read_signature(signature, head.signature);
    /* One spelling: "007" is a number, but not ours. */
    text_addf(&again, "%lld", (long long)head.states.number);
    ok = ok && strcmp(again.bytes, count) == 0;
    text_clear(&again);
    if (ok) *out = head;
    return ok;
}

/* The next line without the blanks around it; false when it does not fit. */
static bool take_trimmed(const char **at, char *out, size_t size)
{
    static const char blanks[] = " \t\r";
    const char *from = *at + strspn(*at, blanks);
    size_t line = strcspn(from, "\n");
    size_t len = line;
    while (len > 0 && strchr(blanks, from[len - 1]) != NULL) {
        len--;
    }
    *at = from + line + (from[line] == '\n' ? 1 : 0);
    if (len >= size) return false;
    memcpy(out, from, len);
    out[len] = '\0';
    return true;
}

bool rec_paper_head_read(const Text *text, RecHead *out, Err *err)
{
    RecHead head = {0};
    char count[24];
    char hash[REC_BASE64_BYTES];
    const char *at = text_string(text);
    if (!take_trimmed(&at, head.station, sizeof head.station) || !rec_is_id(head.station)) {
        return err_set(err, ERR_INPUT, "line 1 of the head is no station");
    }
    if (!take_trimmed(&at, count, sizeof count) || !text_to_int(count, &head.number) ||
        head.number < 1) {
        return err_set(err, ERR_INPUT, "line 2 of the head is no count of entries");
    }
    if (!take_trimmed(&at, hash, sizeof hash) || !rec_base64_read(hash, &head.hash)) {
        return err_set(err, ERR_INPUT, "line 3 of the head is no hash of 44 characters");
    }
    *out = head;
    return true;
}

bool rec_head_is_signed(const RecSignedHead *head, const char *key)
{
    unsigned char bytes[REC_KEY_BYTES];
    Text lines = {0};
    print_lines(&head->states, &lines);
    bool ok = rec_hex_read(key, strlen(key), bytes, sizeof bytes) &&
              rec_ed25519_verify(bytes, lines.bytes, lines.len, head->signature);
    text_clear(&lines);
    return ok;
}

/* --- Against the rows ------------------------------------------------------------------------ */

typedef struct {
    const char *station;
    RecNumber number;
    RecNumber found;
    char *key;
} KeySearch;

static bool take_key(void *context, const RecFact *fact, Err *err)
{
    KeySearch *search = context;
    (void)err;
    bool is_it = strcmp(fact->station, search->station) == 0 && fact->number <= search->number &&
                 fact->number > search->found && strlen(fact->subject) == REC_HEX_BYTES - 1;
    if (is_it) {
        search->found = fact->number;
        memcpy(search->key, fact->subject, REC_HEX_BYTES);
    }
    return true;
}

bool rec_station_key_at(RecStore *store, const char *station, RecNumber number,
                        char key[REC_HEX_BYTES], Err *err)
{
    KeySearch search = {.station = station, .number = number, .key = key};
    const RecFactQuery firsts = {.kind = rec_kind_names[REC_KIND_STORE]};
    const RecFactQuery changes = {.kind = rec_kind_names[REC_KIND_STATION_KEY]};
    key[0] = '\0';
    return rec_store_facts(store, &firsts, take_key, &search, err) &&
           rec_store_facts(store, &changes, take_key, &search, err);
}

bool rec_head_holds(RecStore *store, const RecHead *head, bool *holds, Err *err)
{
    RecRow row = {0};
    bool found = false;
    bool ok = rec_store_entry_from(store, head->station, head->number, &row, &found, err);
    *holds = ok && found && row.number == head->number &&
             strcmp(rec_entry_hash(&row.bytes).hex, head->hash.hex) == 0;
    rec_row_clear(&row);
    return ok;
}

/* The state of a head that could be read and is not ahead. */
static bool compare_entry(RecStore *store, const RecSignedHead *head, const char *station,
                          RecNumber last, RecHeadState *state, Err *err)
{
    RecRow row = {0};
    RecEntry entry = {0};
    Err unreadable = {0};
    char key[REC_HEX_BYTES];
    const RecHead *states = &head->states;
    bool found = false;
    bool ok = rec_store_entry_from(store, station, states->number, &row, &found, err) &&
              rec_station_key_at(store, station, states->number, key, err);
    if (ok) {
        bool agrees =
            strcmp(states->station, station) == 0 && found && row.number == states->number &&
            rec_entry_read(&row.bytes, &entry, &unreadable) &&
            strcmp(entry.hash.hex, states->hash.hex) == 0 && strcmp(entry.time, states->time) == 0;
        *state = !agrees                                          ? REC_HEAD_OTHER
                 : !rec_head_is_signed(head, key)                 ? REC_HEAD_UNSIGNED
                 : last - states->number > REC_BEHIND_ENTRIES_MAX ? REC_HEAD_FAR_BEHIND
                                                                  : REC_HEAD_AGREES;
    }
    rec_entry_clear(&entry);
    rec_row_clear(&row);
    return ok;
}

bool rec_head_compare(RecStore *store, const char *path, const char *station, RecNumber last,
                      RecSignedHead *head, RecHeadState *state, Err *err)
{
    Text text = {0};
    Err unread = {0};
    *head = (RecSignedHead){0};
    if (!os_is_file(path)) {
        *state = last <= REC_FIRST_ENTRIES ? REC_HEAD_AGREES : REC_HEAD_MISSING;
        return true;
    }
    bool ok = os_file_read(path, REC_HEAD_BYTES_MAX, &text, &unread) ||
              unread.code == ERR_RANGE; /* far too long for a head */
    if (!ok)
        *err = unread;
    else if (!rec_head_read(&text, head))
        *state = REC_HEAD_UNREADABLE;
    else if (head->states.number > last)
        *state = REC_HEAD_AHEAD;
    else
        ok = compare_entry(store, head, station, last, state, err);
    text_clear(&text);
    return ok;
}

bool rec_station_find(RecStore *store, const char *folder, char station[REC_ID_BYTES], Err *err)
{
    Text path = {0};
    Text text = {0};
    Text only = {0};
    Text other = {0};
    Err unread = {0};
    RecRow row = {0};
    bool found = false;
    text_addf(&path, "%s/head", folder);
    bool ok = true;
    station[0] = '\0';
    if (os_is_file(path.bytes) && os_file_read(path.bytes, REC_HEAD_BYTES_MAX, &text, &unread) &&
        text.len > REC_ID_BYTES && text.bytes[REC_ID_BYTES - 1] == '\n') {
        text.bytes[REC_ID_BYTES - 1] = '\0';
        ok = rec_store_entry_from(store, text.bytes, INT64_MIN, &row, &found, err);
        if (ok && found) memcpy(station, text.bytes, REC_ID_BYTES);
    }
    if (ok && station[0] == '\0') {
        bool more = false;
        ok = rec_store_station_after(store, "", &only, &found, err) &&
             (!found || rec_store_station_after(store, only.bytes, &other, &more, err));
        if (ok && found && !more && rec_is_id(text_string(&only))) {
            memcpy(station, only.bytes, REC_ID_BYTES);
        } else if (ok) {
            ok = err_set(err, ERR_DAMAGE, "%s: %s", folder,
                         found ? "no head says which station this is" : "the store has no entries");
        }
    }
    rec_row_clear(&row);
    text_clear(&other);
    text_clear(&only);
    text_clear(&text);
    text_clear(&path);
    return ok;
}

/* --- Outside --------------------------------------------------------------------------------- */

void rec_outside_path(const char *heads, const char *station, Text *out)
{
    text_addf(out, "%s/%s", heads, station);
}

bool rec_outside_read(RecStore *store, const char *heads, const char *station, RecSignedHead *out,
                      bool *found, Err *err)
{
    Text path = {0};
    Text text = {0};
    Err unread = {0};
    char key[REC_HEX_BYTES];
    bool ok = true;
    *found = false;
    rec_outside_path(heads, station, &path);
    if (os_is_file(path.bytes) && os_file_read(path.bytes, REC_HEAD_BYTES_MAX, &text, &unread) &&
        rec_head_read(&text, out) && strcmp(out->states.station, station) == 0) {
        ok = rec_station_key_at(store, station, out->states.number, key, err);
        *found = ok && rec_head_is_signed(out, key);
    }
    text_clear(&text);
    text_clear(&path);
    return ok;
}
