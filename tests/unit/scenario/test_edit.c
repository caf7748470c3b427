/* A JSON text changed where it stands. */
#include "scenario/edit.h"

#include "support.h"

static const char TEXT[] =
    "{\n  \"a\": [ {\"id\": \"x\", \"n\": 2.50},\n         {\"id\": \"y\"} ],\n"
    "  \"b\": { },\n  \"c\": \"},]\\\"\"\n}\n";

static void begin(Edit *edit)
{
    Err err = {0};
    if (!edit_begin("t.json", TEXT, strlen(TEXT), edit, &err)) fail_msg("%s", err.text);
}

static void test_edit_set(void **state)
{
    (void)state;
    Edit edit;
    Err err = {0};
    begin(&edit);
    assert_true(edit_set(&edit, edit_root(&edit), "c", "1e-6", &err));
    assert_true(edit_set(&edit, edit_root(&edit), "d", "[1, 2]", &err));
    assert_true(edit_set(&edit, json_get(edit_root(&edit), "b"), "en", "\"B\"", &err));
    const JsonValue *first = json_at(json_get(edit_root(&edit), "a"), 0);
    assert_true(edit_set(&edit, first, "m", "null", &err));
    assert_string_equal(edit.text.bytes,
                        "{\n  \"a\": [ {\"id\": \"x\", \"n\": 2.50, \"m\": null},\n"
                        "         {\"id\": \"y\"} ],\n  \"b\": { \"en\": \"B\" },\n"
                        "  \"c\": 1e-6,\n  \"d\": [1, 2]\n}\n");
    edit_clear(&edit);
}

static void test_edit_list(void **state)
{
    (void)state;
    Edit edit;
    Err err = {0};
    const char *const replaced[] = {NULL, "{}"};
    const char *const added[] = {"3", "4"};
    begin(&edit);
    assert_true(edit_list(&edit, json_get(edit_root(&edit), "a"), replaced, added, 2, &err));
    assert_string_equal(edit.text.bytes,
                        "{\n  \"a\": [ {\"id\": \"x\", \"n\": 2.50},\n         {},\n         3,\n"
                        "         4 ],\n  \"b\": { },\n  \"c\": \"},]\\\"\"\n}\n");
    edit_clear(&edit);
}

/* What cannot be read any more is not taken; the text is as it was. */
static void test_edit_replace_refuses(void **state)
{
    (void)state;
    Edit edit;
    Err err = {0};
    Text deep = {0};
    for (int i = 0; i < JSON_DEPTH_MAX; i++) {
        text_add(&deep, "[");
    }
    for (int i = 0; i < JSON_DEPTH_MAX; i++) {
        text_add(&deep, "]");
    }
    begin(&edit);
    assert_false(edit_set(&edit, edit_root(&edit), "b", deep.bytes, &err));
    assert_string_equal(edit.text.bytes, TEXT);
    assert_true(edit_replace(&edit, edit_root(&edit), deep.bytes, &err));
    edit_clear(&edit);
    text_clear(&deep);
}

static void test_edit_span(void **state)
{
    (void)state;
    Edit edit;
    size_t from;
    size_t len;
    begin(&edit);
    edit_span(&edit, json_get(edit_root(&edit), "c"), &from, &len);
    assert_int_equal(len, strlen("\"},]\\\"\""));
    edit_span(&edit, edit_root(&edit), &from, &len);
    assert_int_equal(from, 0);
    assert_int_equal(len, strlen(TEXT) - 1);
    edit_clear(&edit);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_edit_set),
        cmocka_unit_test(test_edit_list),
        cmocka_unit_test(test_edit_replace_refuses),
        cmocka_unit_test(test_edit_span),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
