/* Reading entries in one pass takes nothing that the reader of JSON and the canonical printer would
 * not, and reads the same from what it takes. */
#include "kinds.h"

#include "records/scan.h"

/* Those whose bodies have signatures or heads. */
static bool is_left_to_reader(RecKind kind)
{
    return kind == REC_KIND_SIGNATURE || kind == REC_KIND_WITHDRAWAL ||
           kind == REC_KIND_STATION_KEY || kind == REC_KIND_IMPORT;
}

static void assert_same_fact(const RecEntry *one, const RecEntry *two)
{
    Text values[2] = {{0}};
    RecFact facts[2];
    rec_fact_of(one, &values[0], &facts[0]);
    rec_fact_of(two, &values[1], &facts[1]);
    assert_string_equal(facts[0].person, facts[1].person);
    assert_string_equal(facts[0].subject, facts[1].subject);
    assert_string_equal(facts[0].value, facts[1].value);
    text_clear(&values[0]);
    text_clear(&values[1]);
}

static void assert_same_body(const RecEntry *scanned, const RecEntry *read)
{
    size_t count = 0;
    const RecField *fields = rec_fields(read->kind_code, &count);
    for (size_t i = 0; i < count; i++) {
        const char *key = fields[i].key;
        RecWant want = fields[i].want;
        if (want == WANT_RESULT) continue; /* its verdict is in the fact */
        assert_string_equal(rec_body_text(scanned, key), rec_body_text(read, key));
        if (want == WANT_WHOLE || want == WANT_COUNT) {
            assert_true(rec_body_whole(scanned, key) == rec_body_whole(read, key));
        } else if (want == WANT_BOOL) {
            assert_true(rec_body_bool(scanned, key) == rec_body_bool(read, key));
        } else if (want == WANT_WORDS || want == WANT_CHOICES || want == WANT_EVIDENCE) {
            assert_true(rec_body_has_items(scanned, key) == rec_body_has_items(read, key));
        }
    }
    const char *names[2];
    const char *hashes[2];
    size_t index = 0;
    for (; rec_body_content(read, index, &names[0], &hashes[0]); index++) {
        assert_true(rec_body_content(scanned, index, &names[1], &hashes[1]));
        assert_string_equal(names[0], names[1]);
        assert_string_equal(hashes[0], hashes[1]);
    }
    assert_false(rec_body_content(scanned, index, &names[1], &hashes[1]));
}

/* What is scanned is read, and reads the same. True when it is scanned. */
static bool compare(const char *bytes, size_t len)
{
    Err err = {0};
    RecEntry scanned = {0};
    RecEntry read = {0};
    Text text = {0};
    text_add_bytes(&text, bytes, len);
    bool is_scanned = rec_entry_scan(&text, &scanned);
    if (is_scanned) {
        if (!rec_entry_read(&text, &read, &err)) fail_msg("scanned: %s: %s", bytes, err.text);
        assert_string_equal(scanned.hash.hex, read.hash.hex);
        assert_string_equal(scanned.previous, read.previous);
        assert_string_equal(scanned.station, read.station);
        assert_string_equal(scanned.author, read.author);
        assert_string_equal(scanned.kind, read.kind);
        assert_string_equal(scanned.time, read.time);
        assert_true(scanned.kind_code == read.kind_code && scanned.number == read.number);
        assert_true(scanned.time_us == read.time_us && scanned.start == read.start);
        assert_true(scanned.ticks_us == read.ticks_us);
        assert_same_body(&scanned, &read);
        assert_same_fact(&scanned, &read);
    }
    rec_entry_clear(&scanned);
    rec_entry_clear(&read);
    text_clear(&text);
    return is_scanned;
}

/* Every byte in turn replaced, left out, and one put before it. */
static void mutate(const Text *bytes)
{
    static const char others[] = "\"\\{}[]:,-0 1aA.e\xc3\x01z";
    char *changed = check_calloc(bytes->len + 2, 1);
    for (size_t i = 0; i < bytes->len; i++) {
        memcpy(changed, bytes->bytes, i);
        memcpy(changed + i, bytes->bytes + i + 1, bytes->len - i - 1);
        (void)compare(changed, bytes->len - 1);
        memcpy(changed, bytes->bytes, bytes->len);
        for (size_t j = 0; j < sizeof others; j++) { /* the NUL too */
            changed[i] = others[j];
            (void)compare(changed, bytes->len);
        }
        memcpy(changed + i + 1, bytes->bytes + i, bytes->len - i);
        for (size_t j = 0; j < sizeof others; j++) {
            changed[i] = others[j];
            (void)compare(changed, bytes->len + 1);
        }
    }
    free(changed);
}

static bool check_row(void *context, const RecRow *row, Err *wrong)
{
    Err err = {0};
    (void)wrong;
    bool *is_done = context; /* by kind */
    RecEntry read = {0};
    assert_ok(rec_entry_read(&row->bytes, &read, &err));
    assert_int_equal(compare(row->bytes.bytes, row->bytes.len), !is_left_to_reader(read.kind_code));
    if (!is_done[read.kind_code]) mutate(&row->bytes);
    is_done[read.kind_code] = true;
    rec_entry_clear(&read);
    return true;
}

static void test_rec_scan_every_kind(void **state)
{
    (void)state;
    Err err = {0};
    Site site;
    bool is_done[REC_KIND_COUNT] = {false};
    full_site(&site);
    assert_ok(rec_store_entries(site.records->store, NULL, 0, check_row, is_done, &err));
    for (int i = 0; i < REC_KIND_COUNT; i++) {
        assert_true(is_done[i]);
    }
    end_site(&site);
}

/* A run with that result, otherwise well-formed. */
static Text run_of(const char *result)
{
    Text out = {0};
    text_addf(
        &out,
        "{\"author\":\"00000000-0000-4000-8000-000000000000\",\"body\":{\"contents\":{\"log\":"
        "\"%064d\"},\"language\":\"en\",\"mode\":\"practice\",\"model\":\"1\",\"result\":%s,"
        "\"scenario\":\"the-beep\",\"scripted\":false,\"seed\":\"5\",\"supervised_by\":\"\"},"
        "\"kind\":\"run\",\"number\":3,\"previous\":\"%064d\",\"start\":1,\"station\":"
        "\"00000000-0000-4000-8000-000000000001\",\"ticks\":5,\"time\":"
        "\"2026-03-02T09:14:31.120000Z\"}",
        0, result, 0);
    return out;
}

/* Results, and whether each is canonical by RFC 8785 and scanned. */
static void test_rec_scan_results(void **state)
{
    (void)state;
    static const struct {
        const char *result;
        bool is_entry, is_scanned;
    } rows[] = {
        {"{}", true, true},
        {"[]", true, true},
        {"[[],{},true,false,\"\"]", true, true},
        {"{\"verdict\":\"passed\"}", true, true},
        {"{\"verdict\":\"a\\\"b\"}", true, true},
        {"{\"verdict\":7}", true, true},
        {"{\"a\":{\"verdict\":\"passed\"}}", true, true},
        {"[{\"verdict\":\"passed\"}]", true, true},
        {"{\"a\":1,\"b\":2}", true, true},
        {"{\"a\":1,\"ab\":2}", true, true},
        {"{\"ab\":1,\"a\":2}", false, false},
        {"{\"b\":1,\"a\":2}", false, false},
        {"{\"a\":1,\"a\":2}", false, false},
        {"{\"a\":1,}", false, false},
        {"{,}", false, false},
        {"[1,]", false, false},
        {"[,1]", false, false},
        {"[1 ]", false, false},
        {"9007199254740991", true, true},
        {"-9007199254740991", true, true},
        {"9007199254740992", false, false},
        {"99999999999999999999", false, false},
        {"-0", false, false},
        {"01", false, false},
        {"1.0", false, false},
        {"1e3", false, false},
        {"null", false, false},
        {"\"\\u0041\"", false, false},
        {"\"\\u001f\"", true, false}, /* left to the reader */
        {"\"\\n\\t\\r\\b\\f\\\\\"", true, true},
        {"\"\\/\"", false, false},
        {"\"z\xc5\x82y\"", true, true},
        {"\"\xc5\"", false, false},
        {"\"\xed\xa0\x80\"", false, false},
        {"{\"\xc5\x82\":1}", true, false},
        {"{\"kind\":\"clock\",\"number\":1}", true, true},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Err err = {0};
        RecEntry entry = {0};
        Text bytes = run_of(rows[i].result);
        bool is_entry = rec_entry_read(&bytes, &entry, &err);
        if (is_entry != rows[i].is_entry) fail_msg("%s: %s", rows[i].result, err.text);
        if (compare(bytes.bytes, bytes.len) != rows[i].is_scanned) fail_msg("%s", rows[i].result);
        rec_entry_clear(&entry);
        text_clear(&bytes);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rec_scan_every_kind),
        cmocka_unit_test(test_rec_scan_results),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
