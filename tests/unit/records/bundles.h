/* What the tests of bundles share: stations that send each other bundles, and bundles made wrong by
 * somebody who has a station's key. */
#ifndef TESTS_UNIT_RECORDS_BUNDLES_H
#define TESTS_UNIT_RECORDS_BUNDLES_H

#include "kinds.h"

#include "records/bundle.h"

/* A station without people of its own, of the site `of`. */
static inline void new_away(Site *away, const Site *of)
{
    *away = (Site){.fake = FAKE_START};
    new_folder(&away->folder);
    site_open(away, REC_CREATE, NULL);
    memcpy(away->ids, of->ids, sizeof away->ids);
}

/* The path of a bundle beside a station's folder. */
static inline Text bundle_path(const Site *site, const char *name)
{
    Text path = {0};
    text_addf(&path, "%s-%s.bundle", site->folder.bytes, name);
    return path;
}

/* All that a station has, as a bundle's bytes. */
static inline Text export_bytes(Site *site, const RecHead *known, size_t known_count)
{
    Err err = {0};
    RecExported exported;
    Text bytes = {0};
    Text path = bundle_path(site, "out");
    assert_ok(rec_bundle_export(site->records, known, known_count, path.bytes, &exported, &err));
    assert_ok(os_file_read(path.bytes, FILE_BYTES_MAX, &bytes, &err));
    (void)remove(path.bytes);
    text_clear(&path);
    return bytes;
}

static inline MUST_USE bool import_bytes(Site *site, const Text *bytes, bool take_new,
                                         RecImported *done, Err *err)
{
    Text path = bundle_path(site, "in");
    FILE *file = fopen(path.bytes, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(text_string(bytes), 1, bytes->len, file), bytes->len);
    assert_int_equal(fclose(file), 0);
    bool ok = rec_bundle_import(site->records, path.bytes, take_new, done, err);
    (void)remove(path.bytes);
    text_clear(&path);
    return ok;
}

/* Carry all that one station has to another. */
static inline RecImported carry(Site *from, Site *to)
{
    Err err = {0};
    RecImported done = {0};
    Text bytes = export_bytes(from, NULL, 0);
    assert_ok(import_bytes(to, &bytes, true, &done, &err));
    text_clear(&bytes);
    return done;
}

/* --- What a store holds ---------------------------------------------------------------------- */

static inline bool list_fact(void *context, const RecFact *fact, Err *err)
{
    (void)err;
    text_addf(context, "%s %lld %s %lld %s %s %s %s %s\n", fact->station, (long long)fact->number,
              fact->hash, (long long)fact->time_us, fact->kind, fact->author, fact->person,
              fact->subject, fact->value);
    return true;
}

/* All facts, one a line, in order of station and number. */
static inline Text facts_of(Site *site)
{
    Err err = {0};
    Text text = {0};
    const RecFactQuery all = {.hash = NULL};
    assert_ok(rec_store_facts(site->records->store, &all, list_fact, &text, &err));
    return text;
}

static inline RecNumber count_of(Site *site)
{
    Err err = {0};
    RecHead *heads = NULL;
    size_t count = 0;
    RecNumber number = 0;
    assert_ok(rec_heads(site->records, &heads, &count, &err));
    for (size_t i = 0; i < count; i++) {
        number += heads[i].number;
    }
    free(heads);
    return number;
}

/* --- Bundles made wrong ---------------------------------------------------------------------- */

static inline char *copy_of(const char *bytes, size_t len)
{
    char *copy = check_calloc(len + 1, 1);
    memcpy(copy, bytes, len);
    return copy;
}

typedef struct {
    char **items;
    size_t count;
} Lines;

static inline Lines split(const Text *bytes)
{
    Lines lines = {0};
    for (const char *at = text_string(bytes); *at != '\0';) {
        size_t len = strcspn(at, "\n");
        lines.items = check_realloc(lines.items, lines.count + 1, sizeof *lines.items);
        lines.items[lines.count++] = copy_of(at, len);
        at += len + 1;
    }
    return lines;
}

static inline void lines_clear(Lines *lines)
{
    for (size_t i = 0; i < lines->count; i++) {
        free(lines->items[i]);
    }
    free(lines->items);
}

/* Put `to` in place of the first `from` in the line; false when there is none. */
static inline bool replace_in(char **line, const char *from, const char *to)
{
    const char *at = strstr(*line, from);
    Text text = {0};
    if (at == NULL) return false;
    text_add_bytes(&text, *line, (size_t)(at - *line));
    text_addf(&text, "%s%s", to, at + strlen(from));
    free(*line);
    *line = copy_of(text.bytes, text.len);
    text_clear(&text);
    return true;
}

/* Put the lines together with a last line by the key of `seed`. */
static inline Text join_signed(const Lines *lines, const unsigned char *seed)
{
    Text bytes = {0};
    Text message = {0};
    unsigned char signature[REC_SIGNATURE_BYTES];
    unsigned char key[REC_KEY_BYTES];
    char signature_hex[2 * REC_SIGNATURE_BYTES + 1];
    char key_hex[REC_HEX_BYTES];
    for (size_t i = 0; i + 1 < lines->count; i++) {
        text_addf(&bytes, "%s\n", lines->items[i]);
    }
    RecHash hash = rec_sha256(NULL, 0, text_string(&bytes), bytes.len);
    text_addf(&message, "threepass-bundle-1 %s\n", hash.hex);
    rec_ed25519_sign(seed, message.bytes, message.len, signature);
    rec_key_from_seed(seed, key);
    rec_hex_print(signature, sizeof signature, signature_hex);
    rec_hex_print(key, sizeof key, key_hex);
    text_addf(&bytes, "{\"hash\":\"%s\",\"key\":\"%s\",\"signature\":\"%s\"}\n", hash.hex, key_hex,
              signature_hex);
    text_clear(&message);
    return bytes;
}

/* Link the entries of a bundle of one station anew, and sign its head and the bundle: what somebody
 * can do who has the station's key. */
static inline Text join_linked(Lines *lines, const unsigned char *seed)
{
    RecHash before = {""};
    RecEntry last = {0};
    RecSignedHead head;
    Text text = {0};
    Err err = {0};
    char signature[2 * REC_SIGNATURE_BYTES + 1];
    for (size_t i = 1; i < lines->count && strncmp(lines->items[i], "{\"author\"", 9) == 0; i++) {
        char *previous = strstr(lines->items[i], "\"previous\":\"");
        Text bytes = {.bytes = lines->items[i], .len = strlen(lines->items[i])};
        if (before.hex[0] != '\0') memcpy(previous + 12, before.hex, REC_HEX_BYTES - 1);
        before = rec_entry_hash(&bytes);
        rec_entry_clear(&last);
        assert_ok(rec_entry_read(&bytes, &last, &err));
    }
    rec_head_print(&last, seed, &text);
    assert_true(rec_head_read(&text, &head));
    rec_hex_print(head.signature, sizeof head.signature, signature);
    text_clear(&text);
    text_addf(&text,
              "{\"format\":\"threepass-bundle-1\",\"from\":\"%s\",\"stations\":[{\"hash\":\"%s\","
              "\"number\":%lld,\"signature\":\"%s\",\"station\":\"%s\",\"time\":\"%s\"}]}",
              last.station, last.hash.hex, (long long)last.number, signature, last.station,
              last.time);
    free(lines->items[0]);
    lines->items[0] = copy_of(text.bytes, text.len);
    text_clear(&text);
    rec_entry_clear(&last);
    return join_signed(lines, seed);
}

#endif
