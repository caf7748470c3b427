/* JSON: a strict scan of our own, then a tree by cJSON, with each node's place from the scan.
 *
 * cJSON alone takes texts that are not JSON (a byte order mark, control characters, "01"), keeps
 * both of two equal keys, and knows no places. So nothing reaches it that the scan has not passed.
 * The scan reads the numbers too, because cJSON cuts a number's text at 63 characters; cJSON is
 * handed a 0 padded with spaces in their stead.
 */
#include "scenario/json.h"

#include <cjson/cJSON.h>
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/os.h"
#include "scenario/suggest.h"

enum { FIRST_CAPACITY = 64, SHOWN_BYTES_MAX = 64, NUMBER_TEXT_BYTES = 40 };

struct JsonValue {
    const JsonDoc *doc;
    const cJSON *node;
    int line, column;
    int key_line, key_column; /* of a member of an object */
    union {
        double number;
        struct {
            uint32_t first; /* index into the document's members */
            uint32_t count;
        };
    };
    JsonKind kind;
    bool is_whole; /* a number without fraction and exponent */
};

struct JsonDoc {
    char *file;
    cJSON *tree;
    JsonValue *values; /* in the order in which they begin in the text */
    size_t count;
    size_t capacity;
    uint32_t *members; /* the indices of each container's children, side by side */
    size_t member_count;
};

typedef struct {
    JsonDoc *doc;
    char *bytes; /* our copy, with a NUL behind it */
    size_t len;
    size_t at;
    int line;
    size_t line_start;
    int depth;
    Err *err;
} Scan;

/* The scan. */

static ErrPlace place_of(const Scan *scan, size_t at)
{
    return (ErrPlace){scan->doc->file, scan->line, (int)(at - scan->line_start) + 1};
}

static bool refuse(const Scan *scan, size_t at, const char *words)
{
    return err_at(scan->err, place_of(scan, at), "not JSON: %s", words);
}

/* The number of bytes at `at` that a message shows: a whole word or one character. */
static int shown_bytes(const Scan *scan, size_t at)
{
    static const char word[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ_";
    size_t len = strspn(scan->bytes + at, word);
    if (len > 0) return len < SHOWN_BYTES_MAX ? (int)len : SHOWN_BYTES_MAX;
    unsigned char first = (unsigned char)scan->bytes[at];
    return first >= 0xf0 ? 4 : first >= 0xe0 ? 3 : first >= 0xc0 ? 2 : 1;
}

/* What a common slip of the hand looks like here; "" when nothing is known. */
static const char *hint_at(const Scan *scan)
{
    const char *found = scan->bytes + scan->at;
    size_t before = scan->at;
    while (before > 0 && strchr(" \t\r\n", scan->bytes[before - 1]) != NULL) {
        before--;
    }
    bool after_comma = before > 0 && scan->bytes[before - 1] == ',';
    bool is_digit = strchr("0123456789", found[0]) != NULL;
    if (found[0] == '\'') return " (strings stand in double quotes)";
    if (found[0] == '/') return " (JSON has no comments)";
    if (after_comma && (found[0] == ']' || found[0] == '}'))
        return " (is there a comma too many before it?)";
    if (after_comma && is_digit && before == scan->at && before > 1 &&
        strchr("0123456789", scan->bytes[before - 2]) != NULL) {
        return " (a number has a decimal point, such as 2.5)";
    }
    bool is_quote = strncmp(found, "\xe2\x80", 2) == 0 && strchr("\x98\x99\x9c\x9d\x9e", found[2]);
    return is_quote ? " (quotes must be straight ones)" : "";
}

static bool refuse_found(const Scan *scan, const char *wanted)
{
    if (scan->at == scan->len) {
        return err_at(scan->err, place_of(scan, scan->at),
                      "not JSON: expected %s, found the end of the text", wanted);
    }
    unsigned char first = (unsigned char)scan->bytes[scan->at];
    if (first < 0x20 || first == 0x7f) {
        return err_at(scan->err, place_of(scan, scan->at),
                      "not JSON: expected %s, found the control character 0x%02x", wanted, first);
    }
    return err_at(scan->err, place_of(scan, scan->at), "not JSON: expected %s, found %.*s%s",
                  wanted, shown_bytes(scan, scan->at), scan->bytes + scan->at, hint_at(scan));
}

static void skip_space(Scan *scan)
{
    for (;; scan->at++) {
        char c = scan->bytes[scan->at];
        if (c == '\n') {
            scan->line++;
            scan->line_start = scan->at + 1;
        } else if (c != ' ' && c != '\t' && c != '\r') {
            return;
        }
    }
}

static bool take(Scan *scan, char wanted)
{
    if (scan->bytes[scan->at] != wanted || scan->at == scan->len) return false;
    scan->at++;
    return true;
}

static size_t add_value(Scan *scan, JsonKind kind)
{
    JsonDoc *doc = scan->doc;
    if (doc->count == doc->capacity) {
        doc->capacity = doc->capacity == 0 ? FIRST_CAPACITY : doc->capacity * 2;
        doc->values = check_realloc(doc->values, doc->capacity, sizeof *doc->values);
    }
    ErrPlace place = place_of(scan, scan->at);
    doc->values[doc->count] =
        (JsonValue){.doc = doc, .kind = kind, .line = place.line, .column = place.column};
    return doc->count++;
}

static bool digits(Scan *scan)
{
    size_t len = strspn(scan->bytes + scan->at, "0123456789");
    if (len == 0) return refuse_found(scan, "a digit");
    scan->at += len;
    return true;
}

static bool scan_number(Scan *scan)
{
    size_t start = scan->at;
    size_t index = add_value(scan, JSON_NUMBER);
    bool is_whole = true;
    (void)take(scan, '-');
    size_t first = scan->at;
    if (!digits(scan)) return false;
    if (scan->bytes[first] == '0' && scan->at > first + 1) {
        return refuse(scan, start, "a number begins with a needless 0");
    }
    if (take(scan, '.')) {
        is_whole = false;
        if (!digits(scan)) return false;
    }
    if (take(scan, 'e') || take(scan, 'E')) {
        is_whole = false;
        if (!take(scan, '+')) (void)take(scan, '-');
        if (!digits(scan)) return false;
    }
    scan->doc->values[index].number = strtod(scan->bytes + start, NULL);
    scan->doc->values[index].is_whole = is_whole;
    memset(scan->bytes + start, ' ', scan->at - start);
    scan->bytes[start] = '0';
    return true;
}

/* Four hexadecimal digits behind "\u"; -1 when they are not there. */
static int32_t hex4(const char *at)
{
    if (strspn(at, "0123456789abcdefABCDEF") < 4) return -1;
    char text[5] = {at[0], at[1], at[2], at[3], '\0'};
    return (int32_t)strtol(text, NULL, 16);
}

/* At the 'u' of an escape; adds the bytes that the character takes in UTF-8. */
static bool scan_unicode(Scan *scan, size_t *bytes)
{
    size_t start = scan->at - 1;
    int32_t unit = hex4(scan->bytes + scan->at + 1);
    if (unit < 0) return refuse(scan, start, "\\u without four hexadecimal digits");
    if (unit == 0) return refuse(scan, start, "U+0000 in a string");
    scan->at += 5;
    *bytes += unit < 0x80 ? 1 : unit < 0x800 ? 2 : 3;
    if (unit < 0xd800 || unit > 0xdfff) return true;
    int32_t second = -1;
    if (unit < 0xdc00 && strncmp(scan->bytes + scan->at, "\\u", 2) == 0) {
        second = hex4(scan->bytes + scan->at + 2);
    }
    if (second < 0xdc00 || second > 0xdfff) {
        return refuse(scan, start, "half of a surrogate pair in a string");
    }
    scan->at += 6;
    *bytes += 1;
    return true;
}

static bool scan_escape(Scan *scan, size_t *bytes)
{
    scan->at++;
    char c = scan->bytes[scan->at];
    if (c == 'u') return scan_unicode(scan, bytes);
    if (c == '\0' || strchr("\"\\/bfnrt", c) == NULL) {
        return refuse(scan, scan->at - 1, "unknown escape in a string");
    }
    scan->at++;
    *bytes += 1;
    return true;
}

static bool scan_string(Scan *scan)
{
    size_t start = scan->at;
    size_t bytes = 0;
    scan->at++;
    while (!take(scan, '"')) {
        unsigned char c = (unsigned char)scan->bytes[scan->at];
        if (scan->at == scan->len) return refuse(scan, start, "a string is not closed");
        if (c == '\n' || c == '\r') {
            return refuse(scan, start, "a string is not closed before the end of its line");
        }
        if (c < 0x20) return refuse(scan, scan->at, "a control character in a string");
        if (c == '\\') {
            if (!scan_escape(scan, &bytes)) return false;
        } else {
            scan->at++;
            bytes++;
        }
    }
    if (bytes <= JSON_STRING_BYTES_MAX) return true;
    return err_at(scan->err, place_of(scan, start),
                  "not JSON: a string is %zu bytes long, limit 0..%d", bytes,
                  JSON_STRING_BYTES_MAX);
}

static bool scan_word(Scan *scan)
{
    static const struct {
        const char *word;
        JsonKind kind;
    } words[] = {{"true", JSON_BOOL}, {"false", JSON_BOOL}, {"null", JSON_NULL}};
    size_t len = (size_t)shown_bytes(scan, scan->at);
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (len != strlen(words[i].word)) continue;
        if (strncmp(scan->bytes + scan->at, words[i].word, len) != 0) continue;
        (void)add_value(scan, words[i].kind);
        scan->at += len;
        return true;
    }
    return refuse_found(scan, "a value");
}

static bool scan_value(Scan *scan);

/* At the first of an object's key; its value's key place is filled in. */
static bool scan_member(Scan *scan)
{
    if (scan->bytes[scan->at] != '"') return refuse_found(scan, "a key in double quotes");
    ErrPlace place = place_of(scan, scan->at);
    size_t index = scan->doc->count;
    if (!scan_string(scan)) return false;
    skip_space(scan);
    if (!take(scan, ':')) return refuse_found(scan, "':' after a key");
    skip_space(scan);
    if (!scan_value(scan)) return false;
    scan->doc->values[index].key_line = place.line;
    scan->doc->values[index].key_column = place.column;
    return true;
}

static bool scan_container(Scan *scan, JsonKind kind)
{
    char close = kind == JSON_OBJECT ? '}' : ']';
    size_t index = add_value(scan, kind);
    if (scan->depth == JSON_DEPTH_MAX) {
        return err_at(scan->err, place_of(scan, scan->at), "not JSON: nested deeper than %d",
                      JSON_DEPTH_MAX);
    }
    scan->depth++;
    scan->at++;
    skip_space(scan);
    bool is_empty = take(scan, close);
    for (bool more = !is_empty; more;) {
        skip_space(scan);
        if (!(kind == JSON_OBJECT ? scan_member(scan) : scan_value(scan))) return false;
        scan->doc->values[index].count++;
        skip_space(scan);
        more = take(scan, ',');
        if (!more && !take(scan, close)) {
            return refuse_found(scan, kind == JSON_OBJECT ? "',' or '}'" : "',' or ']'");
        }
    }
    scan->depth--;
    return true;
}

static bool scan_value(Scan *scan)
{
    char c = scan->bytes[scan->at];
    if (c == '{') return scan_container(scan, JSON_OBJECT);
    if (c == '[') return scan_container(scan, JSON_ARRAY);
    if (c == '-' || (c >= '0' && c <= '9')) return scan_number(scan);
    if (c == '"') {
        (void)add_value(scan, JSON_STRING);
        return scan_string(scan);
    }
    return scan_word(scan);
}

/* Move to the byte at `at`, which is not inside a value that was scanned. */
static void go_to(Scan *scan, size_t at)
{
    for (; scan->at < at; scan->at++) {
        if (scan->bytes[scan->at] != '\n') continue;
        scan->line++;
        scan->line_start = scan->at + 1;
    }
}

static bool scan_text(Scan *scan)
{
    size_t bad_at = 0;
    if (!text_is_utf8(scan->bytes, scan->len, &bad_at)) {
        go_to(scan, bad_at);
        return err_at(scan->err, place_of(scan, bad_at), "not JSON: the byte 0x%02x is not UTF-8",
                      (unsigned)(unsigned char)scan->bytes[bad_at]);
    }
    if (strncmp(scan->bytes, "\xef\xbb\xbf", 3) == 0) {
        return refuse(scan, 0,
                      "the text begins with a byte order mark; save it as UTF-8 without one");
    }
    skip_space(scan);
    if (!scan_value(scan)) return false;
    skip_space(scan);
    if (scan->at < scan->len) return refuse_found(scan, "the end of the text");
    return true;
}

/* The tree. */

/* At most SHOWN_BYTES_MAX bytes of `string`, cut between characters, for a message. */
static int shown(const char *string)
{
    size_t len = strlen(string);
    if (len <= SHOWN_BYTES_MAX) return (int)len;
    len = SHOWN_BYTES_MAX;
    while (((unsigned char)string[len] & 0xc0) == 0x80) {
        len--;
    }
    return (int)len;
}

/* Give `node` and those below it the next values of the document; as deep as the text is nested. */
static void link_nodes(JsonDoc *doc, const cJSON *node, size_t *next)
{
    JsonValue *value = &doc->values[(*next)++];
    value->node = node;
    if (value->kind != JSON_ARRAY && value->kind != JSON_OBJECT) return;
    CHECK(value->kind == JSON_ARRAY ? cJSON_IsArray(node) : cJSON_IsObject(node));
    value->first = (uint32_t)doc->member_count;
    doc->member_count += value->count;
    size_t i = value->first;
    for (const cJSON *child = node->child; child != NULL; child = child->next) {
        doc->members[i++] = (uint32_t)*next;
        link_nodes(doc, child, next);
    }
    CHECK(i == value->first + (size_t)value->count);
}

static int compare_keys(const void *a, const void *b)
{
    const JsonValue *first = *(const JsonValue *const *)a;
    const JsonValue *second = *(const JsonValue *const *)b;
    int order = strcmp(first->node->string, second->node->string);
    if (order != 0) return order;
    return first < second ? -1 : first > second; /* in one array, so in the text's order */
}

/* Sorted, so that a hostile object of a million keys costs no hour. */
static bool refuse_twins(const JsonValue *object, const JsonValue **sorted, Err *err)
{
    for (size_t i = 0; i < object->count; i++) {
        sorted[i] = json_at(object, i);
    }
    qsort(sorted, object->count, sizeof(const JsonValue *), compare_keys);
    const JsonValue *first = NULL;
    const JsonValue *twin = NULL;
    for (size_t i = 1; i < object->count; i++) {
        if (strcmp(sorted[i - 1]->node->string, sorted[i]->node->string) != 0) continue;
        if (twin != NULL && twin < sorted[i]) continue;
        first = sorted[i - 1];
        twin = sorted[i];
    }
    if (twin == NULL) return true;
    ErrPlace place = {object->doc->file, twin->key_line, twin->key_column};
    const char *key = twin->node->string;
    return err_at(err, place, "not JSON: the key \"%.*s\" was there already, at line %d column %d",
                  shown(key), key, first->key_line, first->key_column);
}

static bool refuse_all_twins(const JsonDoc *doc, Err *err)
{
    bool ok = true;
    const JsonValue **sorted = check_calloc(doc->count, sizeof *sorted);
    for (size_t i = 0; ok && i < doc->count; i++) {
        const JsonValue *value = &doc->values[i];
        if (value->kind == JSON_OBJECT && value->count > 1) ok = refuse_twins(value, sorted, err);
    }
    free(sorted);
    return ok;
}

bool json_parse(const char *file, const char *bytes, size_t len, JsonDoc **out, Err *err)
{
    CHECK(file != NULL && (bytes != NULL || len == 0) && out != NULL && err != NULL);
    if (len > JSON_BYTES_MAX) {
        return err_set(err, ERR_RANGE, "%s: is %zu bytes long, limit 0..%d", file, len,
                       JSON_BYTES_MAX);
    }
    bool ok = false;
    JsonDoc *doc = check_calloc(1, sizeof *doc);
    Text copy = {0};
    Text name = {0};
    text_add(&name, file);
    doc->file = name.bytes;
    text_add_bytes(&copy, bytes, len);

    Scan scan = {.doc = doc, .bytes = copy.bytes, .len = len, .line = 1, .err = err};
    if (!scan_text(&scan)) goto done;
    doc->tree = cJSON_ParseWithLength(copy.bytes, len);
    CHECK(doc->tree != NULL);
    doc->members = check_calloc(doc->count, sizeof *doc->members);
    size_t linked = 0;
    link_nodes(doc, doc->tree, &linked);
    CHECK(linked == doc->count);
    if (!refuse_all_twins(doc, err)) goto done;

    *out = doc;
    doc = NULL; /* handed over */
    ok = true;
done:
    json_free(doc);
    text_clear(&copy);
    return ok;
}

bool json_load(const char *path, JsonDoc **out, Err *err)
{
    Text text = {0};
    if (!os_file_read(path, JSON_BYTES_MAX, &text, err)) return false;
    bool ok = json_parse(path, text_string(&text), text.len, out, err);
    text_clear(&text);
    return ok;
}

void json_free(JsonDoc *doc)
{
    if (doc == NULL) return;
    cJSON_Delete(doc->tree);
    free(doc->values);
    free(doc->members);
    free(doc->file);
    free(doc);
}

/* Looking. */

const JsonValue *json_root(const JsonDoc *doc)
{
    return &doc->values[0];
}

JsonKind json_kind(const JsonValue *value)
{
    return value->kind;
}

ErrPlace json_place(const JsonValue *value)
{
    return (ErrPlace){value->doc->file, value->line, value->column};
}

size_t json_count(const JsonValue *value)
{
    return value->kind == JSON_ARRAY || value->kind == JSON_OBJECT ? value->count : 0;
}

const JsonValue *json_at(const JsonValue *value, size_t index)
{
    CHECK(index < json_count(value));
    return &value->doc->values[value->doc->members[value->first + index]];
}

const char *json_key_at(const JsonValue *value, size_t index)
{
    CHECK(value->kind == JSON_OBJECT);
    return json_at(value, index)->node->string;
}

const JsonValue *json_get(const JsonValue *value, const char *key)
{
    if (value->kind != JSON_OBJECT) return NULL;
    for (size_t i = 0; i < value->count; i++) {
        if (strcmp(json_key_at(value, i), key) == 0) return json_at(value, i);
    }
    return NULL;
}

bool json_bool(const JsonValue *value)
{
    CHECK(value->kind == JSON_BOOL);
    return cJSON_IsTrue(value->node) != 0;
}

double json_number(const JsonValue *value)
{
    CHECK(value->kind == JSON_NUMBER);
    return value->number;
}

const char *json_string(const JsonValue *value)
{
    CHECK(value->kind == JSON_STRING);
    return value->node->valuestring;
}

bool json_is_integer(const JsonValue *value, int64_t *out)
{
    /* Every whole number beyond 2^53 - 1 reads as a double beyond it. */
    if (value->kind != JSON_NUMBER || !value->is_whole) return false;
    if (fabs(value->number) > 9007199254740991.0) return false;
    *out = (int64_t)value->number;
    return true;
}

/* Reading with limits. */

static bool want_kind(const JsonValue *value, const char *name, JsonKind kind, Err *err)
{
    static const char *const words[] = {
        [JSON_NULL] = "null",       [JSON_BOOL] = "true or false", [JSON_NUMBER] = "a number",
        [JSON_STRING] = "a string", [JSON_ARRAY] = "an array",     [JSON_OBJECT] = "an object",
    };
    if (value->kind == kind) return true;
    return err_at(err, json_place(value), "%s: is %s, must be %s", name, words[value->kind],
                  words[kind]);
}

/* The member `key` of the wanted kind, or NULL with true when it is not there and need not be. */
static bool find(const JsonValue *object, const char *key, bool required, JsonKind kind,
                 const JsonValue **out, Err *err)
{
    *out = json_get(object, key);
    if (*out == NULL && required) return json_need(object, key, out, err);
    return *out == NULL || want_kind(*out, key, kind, err);
}

/* The fewest digits that give the number back. */
static void print_number(char text[NUMBER_TEXT_BYTES], double value)
{
    if (isinf(value)) {
        (void)snprintf(text, NUMBER_TEXT_BYTES, "beyond %s1.8e308", value < 0 ? "-" : "");
        return;
    }
    for (int digit_count = 15; digit_count <= 17; digit_count++) {
        (void)snprintf(text, NUMBER_TEXT_BYTES, "%.*g", digit_count, value);
        if (strtod(text, NULL) == value) return;
    }
}

static bool refuse_range(const JsonValue *value, const char *key, double min, double max, Err *err)
{
    char is[NUMBER_TEXT_BYTES];
    char low[NUMBER_TEXT_BYTES];
    char high[NUMBER_TEXT_BYTES];
    print_number(is, value->number);
    print_number(low, min);
    print_number(high, max);
    return err_at(err, json_place(value), "%s is %s, limit %s..%s", key, is, low, high);
}

bool json_want_object(const JsonValue *value, const char *name, const char *const keys[], Err *err)
{
    if (!want_kind(value, name, JSON_OBJECT, err)) return false;
    for (size_t i = 0; i < value->count; i++) {
        const char *key = json_key_at(value, i);
        size_t known = 0;
        while (keys[known] != NULL && strcmp(keys[known], key) != 0) {
            known++;
        }
        if (keys[known] != NULL) continue;
        const JsonValue *member = json_at(value, i);
        ErrPlace place = {value->doc->file, member->key_line, member->key_column};
        const char *near = suggest_word(key, keys);
        return err_at(err, place, "unknown key \"%.*s\"%s%s%s", shown(key), key,
                      near == NULL ? "" : "; did you mean \"", near == NULL ? "" : near,
                      near == NULL ? "" : "\"?");
    }
    return true;
}

bool json_want_array(const JsonValue *value, const char *name, size_t min, size_t max, Err *err)
{
    if (!want_kind(value, name, JSON_ARRAY, err)) return false;
    if (value->count >= min && value->count <= max) return true;
    return err_at(err, json_place(value), "%s has %zu elements, limit %zu..%zu", name,
                  (size_t)value->count, min, max);
}

bool json_need(const JsonValue *object, const char *key, const JsonValue **out, Err *err)
{
    const JsonValue *member = json_get(object, key);
    if (member == NULL) return err_at(err, json_place(object), "%s is missing", key);
    *out = member;
    return true;
}

bool json_read_number(const JsonValue *object, const char *key, bool required, double min,
                      double max, double *out, Err *err)
{
    const JsonValue *value = NULL;
    if (!find(object, key, required, JSON_NUMBER, &value, err)) return false;
    if (value == NULL) return true;
    if (!isfinite(value->number) || value->number < min || value->number > max) {
        return refuse_range(value, key, min, max, err);
    }
    *out = value->number;
    return true;
}

bool json_read_integer(const JsonValue *object, const char *key, bool required, int64_t min,
                       int64_t max, int64_t *out, Err *err)
{
    const JsonValue *value = NULL;
    if (!find(object, key, required, JSON_NUMBER, &value, err)) return false;
    if (value == NULL) return true;
    if (!value->is_whole) {
        return err_at(err, json_place(value),
                      "%s: has a point or an exponent, must be a whole number", key);
    }
    int64_t number = 0;
    if (!json_is_integer(value, &number)) {
        return refuse_range(value, key, (double)min, (double)max, err);
    }
    if (number < min || number > max) {
        return err_at(err, json_place(value), "%s is %" PRId64 ", limit %" PRId64 "..%" PRId64, key,
                      number, min, max);
    }
    *out = number;
    return true;
}

bool json_read_bool(const JsonValue *object, const char *key, bool required, bool *out, Err *err)
{
    const JsonValue *value = NULL;
    if (!find(object, key, required, JSON_BOOL, &value, err)) return false;
    if (value != NULL) *out = json_bool(value);
    return true;
}

bool json_read_string(const JsonValue *object, const char *key, bool required, size_t min_bytes,
                      size_t max_bytes, const char **out, Err *err)
{
    const JsonValue *value = NULL;
    if (!find(object, key, required, JSON_STRING, &value, err)) return false;
    if (value == NULL) return true;
    size_t len = strlen(json_string(value));
    if (len < min_bytes || len > max_bytes) {
        return err_at(err, json_place(value), "%s is %zu bytes long, limit %zu..%zu", key, len,
                      min_bytes, max_bytes);
    }
    *out = json_string(value);
    return true;
}

bool json_read_id(const JsonValue *object, const char *key, bool required, const char **out,
                  Err *err)
{
    const JsonValue *value = NULL;
    if (!find(object, key, required, JSON_STRING, &value, err)) return false;
    if (value == NULL) return true;
    const char *id = json_string(value);
    if (!text_is_id(id)) {
        return err_at(err, json_place(value),
                      "%s is \"%.*s\", must be 1 to 64 of a-z, A-Z, 0-9, '-', '_' and '.'", key,
                      shown(id), id);
    }
    *out = id;
    return true;
}

static bool refuse_word(const JsonValue *value, const char *key, const char *const words[],
                        Err *err)
{
    Text list = {0};
    for (size_t i = 0; words[i] != NULL; i++) {
        text_addf(&list, "%s\"%s\"", i == 0 ? "" : ", ", words[i]);
    }
    const char *word = json_string(value);
    const char *near = suggest_word(word, words);
    if (near != NULL) text_addf(&list, "; did you mean \"%s\"?", near);
    (void)err_at(err, json_place(value), "%s is \"%.*s\", must be one of %s", key, shown(word),
                 word, text_string(&list));
    text_clear(&list);
    return false;
}

bool json_read_word(const JsonValue *object, const char *key, bool required,
                    const char *const words[], int *out, Err *err)
{
    const JsonValue *value = NULL;
    if (!find(object, key, required, JSON_STRING, &value, err)) return false;
    return value == NULL || json_want_word(value, key, words, out, err);
}

bool json_want_word(const JsonValue *value, const char *name, const char *const words[], int *out,
                    Err *err)
{
    if (json_kind(value) != JSON_STRING) {
        return err_at(err, json_place(value), "%s: must be a string", name);
    }
    for (int i = 0; words[i] != NULL; i++) {
        if (strcmp(words[i], json_string(value)) != 0) continue;
        *out = i;
        return true;
    }
    return refuse_word(value, name, words, err);
}

/* Writing. */

void json_add_number(Text *out, double value)
{
    CHECK(isfinite(value));
    text_add_double(out, value);
}
