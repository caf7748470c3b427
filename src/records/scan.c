/* One pass over canonical JSON. Whatever passes has the one spelling that canonical.h gives it, so
 * nothing need be printed again to compare. */
#include "records/scan.h"

#include <stdlib.h>
#include <string.h>

#include "records/stamp.h"

enum {
    BYTES_MAX = 1024 * 1024,
    DEPTH_MAX = 32,  /* of a result */
    DIGITS_MAX = 16, /* of 2^53 - 1 */
};

static const int64_t WHOLE_MAX = 9007199254740991; /* 2^53 - 1 */

/* Behind the bytes stands a NUL, which nothing takes. */
typedef struct {
    const char *at;
    RecFlat *flat;
} Scan;

/* --- JSON ------------------------------------------------------------------------------------ */

static bool take(Scan *scan, const char *literal)
{
    size_t len = strlen(literal);
    if (strncmp(scan->at, literal, len) != 0) return false;
    scan->at += len;
    return true;
}

/* A string; `inside` is between its quotes, and plain when it has no escapes. */
static bool scan_string(Scan *scan, RecSpan *inside, bool *is_plain)
{
    if (*scan->at != '"') return false;
    const char *from = scan->at + 1;
    const char *to = from;
    *is_plain = true;
    for (; *to != '"'; to++) {
        if ((unsigned char)*to < 0x20) return false;
        if (*to != '\\') continue;
        to++;
        if (*to == '\0' || strchr("\"\\bfnrt", *to) == NULL) return false;
        *is_plain = false;
    }
    *inside = (RecSpan){from, (size_t)(to - from)};
    scan->at = to + 1;
    return inside->len <= JSON_STRING_BYTES_MAX;
}

static bool scan_whole(Scan *scan, int64_t *out)
{
    bool is_negative = *scan->at == '-';
    const char *from = scan->at + (is_negative ? 1 : 0);
    const char *to = from;
    int64_t value = 0;
    for (; *to >= '0' && *to <= '9' && to - from < DIGITS_MAX; to++) {
        value = value * 10 + (*to - '0');
    }
    if (to == from || (*from == '0' && (to > from + 1 || is_negative)) || value > WHOLE_MAX) {
        return false;
    }
    *out = is_negative ? -value : value;
    scan->at = to; /* a further digit, point or exponent is not what follows a value */
    return true;
}

static bool scan_bool(Scan *scan)
{
    return take(scan, "true") || take(scan, "false");
}

/* A key and its colon, behind the key `before` in order; of such letters alone that bytes sort as
 * UTF-16 does. */
static bool scan_key(Scan *scan, RecSpan *before)
{
    RecSpan key;
    bool is_plain = false;
    if (!scan_string(scan, &key, &is_plain) || !is_plain) return false;
    for (size_t i = 0; i < key.len; i++) {
        if ((unsigned char)key.from[i] >= 0x80) return false;
    }
    if (before->from != NULL) {
        size_t len = key.len < before->len ? key.len : before->len;
        int order = memcmp(before->from, key.from, len);
        if (order > 0 || (order == 0 && before->len >= key.len)) return false;
    }
    *before = key;
    return take(scan, ":");
}

static bool scan_value(Scan *scan, int depth);

static bool scan_array(Scan *scan, int depth)
{
    if (take(scan, "[]")) return true;
    for (const char *mark = "["; *scan->at != ']'; mark = ",") {
        if (!take(scan, mark) || !scan_value(scan, depth + 1)) return false;
    }
    return take(scan, "]");
}

static bool scan_object(Scan *scan, int depth)
{
    RecSpan key = {NULL, 0};
    if (take(scan, "{}")) return true;
    for (const char *mark = "{"; *scan->at != '}'; mark = ",") {
        if (!take(scan, mark) || !scan_key(scan, &key)) return false;
        const char *from = scan->at;
        if (!scan_value(scan, depth + 1)) return false;
        bool is_verdict = depth == 0 && *from == '"' && key.len == strlen("verdict") &&
                          memcmp(key.from, "verdict", key.len) == 0;
        if (is_verdict) scan->flat->verdict = (RecSpan){from, (size_t)(scan->at - from)};
    }
    return take(scan, "}");
}

static bool scan_value(Scan *scan, int depth)
{
    RecSpan inside;
    int64_t whole = 0;
    bool is_plain = false;
    if (depth == DEPTH_MAX) return false;
    switch (*scan->at) {
    case '{':
        return scan_object(scan, depth);
    case '[':
        return scan_array(scan, depth);
    case '"':
        return scan_string(scan, &inside, &is_plain);
    case 't':
    case 'f':
        return scan_bool(scan);
    default:
        return scan_whole(scan, &whole);
    }
}

/* --- Fields ---------------------------------------------------------------------------------- */

/* A string without escapes, kept with a NUL behind it. */
static bool scan_text(Scan *scan, const char **text)
{
    RecSpan inside;
    bool is_plain = false;
    if (!scan_string(scan, &inside, &is_plain) || !is_plain) return false;
    char *to = scan->flat->strings;
    memcpy(to, inside.from, inside.len);
    to[inside.len] = '\0';
    scan->flat->strings += inside.len + 1;
    *text = to;
    return true;
}

static bool scan_list(Scan *scan, const RecField *field)
{
    const char *text = NULL;
    size_t count = 0;
    if (take(scan, "[]")) return true;
    for (const char *mark = "["; *scan->at != ']'; mark = ",", count++) {
        if (!take(scan, mark) || !scan_text(scan, &text)) return false;
        if (count == REC_LIST_MAX || !rec_item_fits(field, text)) return false;
    }
    return take(scan, "]");
}

static bool scan_contents(Scan *scan)
{
    RecFlat *flat = scan->flat;
    RecSpan key = {NULL, 0};
    for (const char *mark = "{"; *scan->at != '}'; mark = ",", flat->content_count++) {
        if (flat->content_count == REC_CONTENTS_MAX || !take(scan, mark)) return false;
        const char *from = scan->at;
        if (!scan_key(scan, &key)) return false;
        const char *behind = scan->at;
        scan->at = from; /* the key again, now to keep it */
        if (!scan_text(scan, &flat->contents[flat->content_count].name)) return false;
        scan->at = behind;
        if (!scan_text(scan, &flat->contents[flat->content_count].hash)) return false;
        if (!text_is_id(flat->contents[flat->content_count].name) ||
            !rec_is_hash(flat->contents[flat->content_count].hash)) {
            return false;
        }
    }
    return flat->content_count > 0 && take(scan, "}");
}

static bool scan_field(Scan *scan, const RecField *field, const char **text)
{
    int64_t whole = 0;
    switch (field->want) {
    case WANT_WHOLE:
    case WANT_COUNT:
        return scan_whole(scan, &whole) && (field->want == WANT_WHOLE || whole >= 0);
    case WANT_BOOL:
        return scan_bool(scan);
    case WANT_WORDS:
    case WANT_CHOICES:
    case WANT_EVIDENCE:
        return scan_list(scan, field);
    case WANT_CONTENTS:
        return scan_contents(scan);
    case WANT_RESULT:
        return scan_value(scan, 0);
    case WANT_SIGNATURE:
    case WANT_HEAD:
    case WANT_HEADS:
        return false; /* its kind is left to rec_entry_read */
    case WANT_TEXT:
    case WANT_WORD:
    case WANT_CHOICE:
    case WANT_DATE:
    case WANT_PERSON:
    case WANT_BUDDY:
    case WANT_STATION:
    case WANT_ABOUT:
    case WANT_ABOUT_WHOM:
    case WANT_VEIL:
    case WANT_VEIL_OR_NONE:
    case WANT_CONTENT:
    case WANT_CONTENT_OR_NONE:
    case WANT_HASH:
    case WANT_PUBLIC_KEY:
    case WANT_SEED:
        return scan_text(scan, text) && rec_text_fits(field, *text);
    }
    CHECK(false);
    return false;
}

static bool scan_body(Scan *scan)
{
    RecFlat *flat = scan->flat;
    CHECK(flat->count > 0 && flat->count <= REC_SCAN_FIELDS_MAX);
    for (size_t i = 0; i < flat->count; i++) {
        if (!take(scan, i == 0 ? "{\"" : ",\"") || !take(scan, flat->fields[i].key) ||
            !take(scan, "\":"))
            return false;
        const char *from = scan->at;
        flat->texts[i] = "";
        if (!scan_field(scan, &flat->fields[i], &flat->texts[i])) return false;
        flat->values[i] = (RecSpan){from, (size_t)(scan->at - from)};
    }
    return take(scan, "}");
}

/* --- Entries --------------------------------------------------------------------------------- */

/* The kind behind the body says which body it is: the last such key, as no later text holds one. */
static bool find_kind(const char *bytes, size_t len, RecKind *kind)
{
    static const char key[] = "\"kind\":\"";
    static const char next[] = "\",\"number\":";
    enum { REST_BYTES_MAX = 400 }; /* of kind, number, previous, start, station, ticks and time */
    char name[32];
    bool found = false;
    const char *from = bytes + len - (len < REST_BYTES_MAX ? len : REST_BYTES_MAX);
    for (const char *at = strstr(from, key); at != NULL; at = strstr(at + 1, key)) {
        size_t size = strcspn(at + strlen(key), "\"");
        if (size >= sizeof name) continue;
        if (strncmp(at + strlen(key) + size, next, strlen(next)) != 0) continue;
        memcpy(name, at + strlen(key), size);
        name[size] = '\0';
        found = rec_kind_find(name, kind);
    }
    return found;
}

static bool scan_number(Scan *scan, const char *key, int64_t *out)
{
    return take(scan, key) && scan_whole(scan, out) && *out >= 0;
}

static bool scan_entry(Scan *scan, RecEntry *out)
{
    return take(scan, "{\"author\":") && scan_text(scan, &out->author) &&
           take(scan, ",\"body\":") && scan_body(scan) && take(scan, ",\"kind\":") &&
           scan_text(scan, &out->kind) && scan_number(scan, ",\"number\":", &out->number) &&
           take(scan, ",\"previous\":") && scan_text(scan, &out->previous) &&
           scan_number(scan, ",\"start\":", &out->start) && take(scan, ",\"station\":") &&
           scan_text(scan, &out->station) && scan_number(scan, ",\"ticks\":", &out->ticks_us) &&
           take(scan, ",\"time\":") && scan_text(scan, &out->time) && take(scan, "}") &&
           strcmp(out->kind, rec_kind_names[out->kind_code]) == 0 &&
           (strcmp(out->author, "station") == 0 || rec_is_id(out->author)) &&
           rec_is_hash(out->previous) && rec_is_id(out->station) &&
           rec_stamp_read(out->time, &out->time_us);
}

bool rec_entry_scan(const Text *bytes, RecEntry *out)
{
    size_t len = bytes->len;
    if (len == 0 || len > BYTES_MAX || !text_is_utf8(bytes->bytes, len, NULL)) return false;
    RecEntry entry = {0};
    RecFlat *flat = check_calloc(1, sizeof *flat + 2 * len + 2);
    flat->strings = flat->bytes + len + 1;
    memcpy(flat->bytes, bytes->bytes, len);
    Scan scan = {.at = flat->bytes, .flat = flat};
    bool ok = find_kind(flat->bytes, len, &entry.kind_code);
    if (ok) flat->fields = rec_fields(entry.kind_code, &flat->count);
    ok = ok && scan_entry(&scan, &entry) && scan.at == flat->bytes + len;
    if (!ok) {
        free(flat);
        return false;
    }
    entry.hash = rec_entry_hash(bytes);
    entry.flat = flat;
    *out = entry;
    return true;
}
