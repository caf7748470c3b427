/* Names that are the same to a person; small and capital letters as UnicodeData.txt of the Unicode
 * Standard pairs them (simple lower case mapping, from memory). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "base/text.h"

static void test_text_is_same_name(void **state)
{
    static const struct {
        const char *a, *b;
        bool same;
    } rows[] = {
        {"Aldis", "Aldis", true},
        {"Aldis", "aldis", true},
        {"Aldis", "ALDIS ", true},
        {" Anna  Maria", "anna maria", true},
        {"Anna\xc2\xa0Maria", "Anna Maria", true},
        {"JOÃO", "joão", true},
        {"ŁUKASZ ŻÓŁĆ", "łukasz żółć", true},
        {"ŠĖŽ", "šėž", true},
        {"ŸÞ", "ÿþ", true},
        {"ȘTEFAN", "ștefan", true},
        {"ЁЛКА", "ёлка", true},
        {"ΝΙΚΟΛ", "νικολ", true},
        {"", " ", true},
        {"Aldis", "Aldi", false},
        {"Aldi", "Aldis", false},
        {"Anna Maria", "Annamaria", false},
        {"Joao", "João", false},
        {"×", "÷", false}, /* U+00D7 and U+00F7: no letters */
        {"", "a", false},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (text_is_same_name(rows[i].a, rows[i].b) == rows[i].same &&
            text_is_same_name(rows[i].b, rows[i].a) == rows[i].same)
            continue;
        fail_msg("\"%s\" and \"%s\"", rows[i].a, rows[i].b);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_text_is_same_name)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
