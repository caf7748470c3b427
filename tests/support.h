/* What every test may use: numbers compared with a tolerance, and tables in CSV. */
#ifndef TESTS_SUPPORT_H
#define TESTS_SUPPORT_H

#include <complex.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* |got - want| <= relative |want|; for complex numbers of the whole modulus. A want of 0 is met by
 * 0 alone. */
#define assert_near(got, want, relative)                                                           \
    near_or_fail((got), (want), (relative)*cabs((double complex)(want)), "", __FILE__, __LINE__)

/* The same with the name of the row, which the failure prints. */
#define assert_near_named(name, got, want, relative)                                               \
    near_or_fail((got), (want), (relative)*cabs((double complex)(want)), (name), __FILE__, __LINE__)

/* |got - want| <= absolute. */
#define assert_within(got, want, absolute)                                                         \
    near_or_fail((got), (want), (absolute), "", __FILE__, __LINE__)

static inline void near_or_fail(double complex got, double complex want, double tolerance,
                                const char *name, const char *file, int line)
{
    double far = cabs(got - want);
    if (far <= tolerance) return;
    print_error("%s:%d: %s: got %.17g%+.17gj, want %.17g%+.17gj, apart by %.3g, allowed %.3g\n",
                file, line, name, creal(got), cimag(got), creal(want), cimag(want), far, tolerance);
    _fail(file, line);
}

/* A table: `cells` holds rows x columns strings, `names` the header's. Lines that begin with '#'
 * are comments. The owner ends it with csv_free. */
typedef struct {
    char *bytes;
    const char **names;
    const char **cells;
    size_t rows, columns;
} Csv;

/* Cut one field off *at and end it with a NUL; quotes are taken off. Returns the field; *at goes
 * behind it, *last_of_line says whether the line ends there. */
static inline const char *csv_cut(char **at, int *last_of_line)
{
    char *from = *at;
    char *to = from;
    char *scan = from;
    int quoted = 0;
    while (*scan != '\0' && (quoted || (*scan != ',' && *scan != '\n'))) {
        if (*scan == '"') {
            quoted = !quoted;
        } else if (*scan != '\r') {
            *to++ = *scan;
        }
        scan++;
    }
    *last_of_line = *scan != ',';
    *at = *scan == '\0' ? scan : scan + 1;
    *to = '\0';
    return from;
}

/* Read a table; the test fails when there is none or a row has too few or too many fields. */
static inline Csv csv_load(const char *path)
{
    Csv csv = {0};
    FILE *file = fopen(path, "rb");
    if (file == NULL) fail_msg("%s cannot be opened", path);
    size_t capacity = 1 << 20;
    csv.bytes = calloc(capacity, 1);
    csv.cells = calloc(capacity / 8, sizeof *csv.cells);
    csv.names = csv.cells;
    size_t len = fread(csv.bytes, 1, capacity - 1, file);
    assert_true(len > 0 && len < capacity - 1);
    assert_int_equal(fclose(file), 0);
    size_t used = 0;
    for (char *at = csv.bytes; *at != '\0';) {
        if (*at == '#') {
            at += strcspn(at, "\n");
            at += *at == '\n';
            continue;
        }
        size_t fields = 0;
        for (int last = 0; !last; fields++) {
            assert_true(used < capacity / 8);
            csv.cells[used++] = csv_cut(&at, &last);
        }
        if (csv.columns == 0) csv.columns = fields;
        if (fields != csv.columns) fail_msg("%s: row %zu has %zu fields", path, csv.rows, fields);
        csv.rows++;
    }
    assert_true(csv.rows > 1);
    csv.cells += csv.columns;
    csv.rows--;
    return csv;
}

static inline void csv_free(Csv *csv)
{
    free(csv->bytes);
    free(csv->names);
    *csv = (Csv){0};
}

static inline const char *csv_text(const Csv *csv, size_t row, const char *column)
{
    for (size_t i = 0; i < csv->columns; i++) {
        if (strcmp(csv->names[i], column) == 0) return csv->cells[row * csv->columns + i];
    }
    fail_msg("the table has no column %s", column);
    return "";
}

/* The number in a cell; NaN when it is empty. */
static inline double csv_number(const Csv *csv, size_t row, const char *column)
{
    const char *text = csv_text(csv, row, column);
    char *end = NULL;
    if (text[0] == '\0') return (double)NAN;
    double value = strtod(text, &end);
    if (*end != '\0') fail_msg("row %zu, column %s: \"%s\" is no number", row, column, text);
    return value;
}

#endif
