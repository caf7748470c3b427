/* The worked example of docs/model.md and its tables of what passes show: each row is read and
 * computed again.
 *
 * The values of the example come from a calculator of another kind (mpmath, 25 digits), by the
 * formulas that stand beside them. */
#include "support.h"

#include "base/os.h"
#include "base/text.h"
#include "detector/chance.h"
#include "detector/detect.h"

enum { PAGE_BYTES_MAX = 1 << 20, ROWS = 21, CELLS_MAX = 5 };

#define PI 3.14159265358979323846

/* Given in the example. */
static const DetectHead head = {.coils = {0.4, 0.2, 0.02, 0.08},
                                .frequency_hz = 300e3,
                                .noise_v = 10e-9,
                                .false_reject_rate = 1e-6};
static const TargetMetal stainless = {7.4e-7, 1.005};
static const Vec3 place = {0.08, 0, 0};
#define RADIUS_M 1.5e-3

static double complex alpha_m3(void)
{
    TargetPiece sphere = {.shape = TARGET_SPHERE,
                          .diameter_m = 2.0 * RADIUS_M,
                          .direction = {1, 0, 0},
                          .metal = stainless};
    return target_polarizability(&sphere, head.frequency_hz).xx;
}

static double complex signal_v(void)
{
    static double complex signal[2];
    DetectPiece piece = {.piece = {.shape = TARGET_SPHERE,
                                   .diameter_m = 2.0 * RADIUS_M,
                                   .direction = {1, 0, 0},
                                   .metal = stainless}};
    DetectGrid grid = {place.x, 0.001, 2};
    memset(signal, 0, sizeof signal);
    detect_add_signal(&head, &piece, &grid, signal);
    return signal[0];
}

static double loop_at(double x_m)
{
    return coil_loop_field(0.44, 0.24, 0.0, (Vec3){x_m, 0, 0}).x;
}

static double limit_v(void)
{
    DetectProgram program = {0};
    DetectGrid grid = {-0.3, 0.01, 61};
    Err err = {0};
    if (!detect_program_init(&program, &head, NULL, &grid, &err)) fail_msg("%s", err.text);
    double limit = program.limit_along_v;
    assert_near(program.limit_across_v, limit, 1e-15);
    detect_program_clear(&program);
    return limit;
}

/* What the steps of the table come to, in its units; NaN for a step that is not known here. */
static double computed(const char *step)
{
    double skin = target_skin_number(RADIUS_M, stainless, head.frequency_hz);
    double t = sqrt(skin / 2.0);
    double complex mu =
        stainless.relative_permeability * target_relative_permeability(TARGET_IN_SPHERE, skin);
    double kappa = detect_kappa(head.false_reject_rate);
    double ratio = cabs(signal_v()) / limit_v();
    const struct {
        const char *step;
        double value;
    } rows[] = {
        {"transmit field", coil_transmit_field(&head.coils, place).x},
        {"nearer receiver's field", loop_at(0.0)},
        {"farther receiver's field", loop_at(0.16)},
        {"receive field", coil_receive_field(&head.coils, place).x},
        {"skin depth", RADIUS_M / t * 1e3},
        {"t", t},
        {"u coth u, real", t * (sinh(2 * t) + sin(2 * t)) / (cosh(2 * t) - cos(2 * t))},
        {"u coth u, imaginary", t * (sinh(2 * t) - sin(2 * t)) / (cosh(2 * t) - cos(2 * t))},
        {"effective permeability, real", creal(mu)},
        {"effective permeability, imaginary", cimag(mu)},
        {"volume", 4.0 / 3.0 * PI * RADIUS_M * RADIUS_M * RADIUS_M * 1e9},
        {"polarizability, real", creal(alpha_m3()) * 1e9},
        {"polarizability, imaginary", cimag(alpha_m3()) * 1e9},
        {"\xCF\x89\xCE\xBC\xE2\x82\x80", 2.0 * PI * head.frequency_hz * TARGET_MU0_H_PER_M},
        {"signal, real", creal(signal_v()) * 1e9},
        {"signal, imaginary", cimag(signal_v()) * 1e9},
        {"\xCE\xBA", kappa},
        {"limit", limit_v() * 1e9},
        {"ratio at this place", ratio},
        {"chance of being found, if this were the peak", detect_found_probability(ratio, kappa)},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (strcmp(rows[i].step, step) == 0) return rows[i].value;
    }
    return (double)NAN;
}

/* The cells of a row "| a | b | c |", without the blanks around them; returns how many. */
static int cut_row(char *line, char *cells[CELLS_MAX])
{
    int count = 0;
    char *at = line + 1;
    for (char *bar = strchr(at, '|'); bar != NULL && count < CELLS_MAX; bar = strchr(at, '|')) {
        char *last = bar;
        while (last > at && last[-1] == ' ') {
            last--;
        }
        *last = '\0';
        cells[count++] = at + strspn(at, " ");
        at = bar + 1;
    }
    return count;
}

/* To the digits that are printed: six. */
static void check_row(char *line, int *checked)
{
    char *cells[CELLS_MAX];
    char *end = NULL;
    if (cut_row(line, cells) != 4) fail_msg("a row of the example has too few cells: %s", line);
    double want = strtod(cells[2], &end);
    if (*end != '\0') return; /* the header, and the sides, which are given */
    double got = computed(cells[0]);
    if (isnan(got)) fail_msg("no such step: \"%s\"", cells[0]);
    assert_near_named(cells[0], got, want, 5e-6);
    (*checked)++;
}

static void test_worked_example(void **state)
{
    (void)state;
    Text page = {0};
    Err err = {0};
    int checked = 0;
    if (!os_file_read("docs/model.md", PAGE_BYTES_MAX, &page, &err)) fail_msg("%s", err.text);
    char *at = strstr(page.bytes, "| step | how | value | unit |\n");
    assert_non_null(at);
    while (*at == '|') {
        char *next = strchr(at, '\n');
        assert_non_null(next);
        *next = '\0';
        check_row(at, &checked);
        at = next + 1;
    }
    assert_int_equal(checked, ROWS - 1); /* all but the sides */
    text_clear(&page);
}

/* The numbers of each row of the table below `head`, handed to `check`; how many rows there are. */
static int for_rows(const char *heading, int cells_wanted,
                    void (*check)(const double numbers[CELLS_MAX]))
{
    Text page = {0};
    Err err = {0};
    int rows = 0;
    if (!os_file_read("docs/model.md", PAGE_BYTES_MAX, &page, &err)) fail_msg("%s", err.text);
    char *at = strstr(page.bytes, heading);
    if (at == NULL) fail_msg("no table \"%s\"", heading);
    at = strchr(strchr(at, '\n') + 1, '\n') + 1; /* past the heading and the line below it */
    while (*at == '|') {
        char *cells[CELLS_MAX];
        double numbers[CELLS_MAX] = {0.0};
        char *next = strchr(at, '\n');
        assert_non_null(next);
        *next = '\0';
        assert_int_equal(cut_row(at, cells), cells_wanted);
        for (int i = 0; i < cells_wanted; i++) {
            char *end = NULL;
            numbers[i] = strtod(cells[i], &end);
            if (end == cells[i] || *end != '\0') fail_msg("no number: \"%s\"", cells[i]);
        }
        check(numbers);
        rows++;
        at = next + 1;
    }
    text_clear(&page);
    return rows;
}

static void check_interval(const double numbers[CELLS_MAX])
{
    ChanceInterval got = chance_interval((uint64_t)numbers[0], (uint64_t)numbers[1], 0.95);
    assert_near(got.low, numbers[2], 5e-6);
    assert_near(got.high, numbers[3], 5e-6);
}

/* The success run against its own power, too, which a pocket calculator has. */
static void check_success_run(const double numbers[CELLS_MAX])
{
    assert_near(chance_shown_by((uint64_t)numbers[0], 0.95), numbers[1], 5e-6);
    assert_near(pow(0.05, 1.0 / numbers[0]), numbers[1], 5e-6);
}

static void check_worse(const double numbers[CELLS_MAX])
{
    static const size_t passes[] = {3, 9, 29};
    double ratios[29];
    double kappa = detect_kappa(1e-6);
    double ratio = detect_ratio_for(0.99999, kappa);
    assert_near(ratio, 1.798, 5e-6);
    for (size_t i = 0; i < 29; i++) {
        ratios[i] = ratio;
    }
    double one = detect_found_probability(ratio * numbers[0], kappa);
    assert_near(one, numbers[1], 5e-6);
    for (size_t i = 0; i < 3; i++) {
        double fails = chance_check_finds(ratios, passes[i], kappa, 1.0 / numbers[0]);
        assert_near(fails, numbers[2 + i], 5e-6);
        assert_near(fails, -expm1((double)passes[i] * log(one)), 1e-9);
    }
}

static void test_what_passes_show(void **state)
{
    (void)state;
    assert_int_equal(for_rows("| found | of | from | to |\n", 4, check_interval), 4);
    assert_int_equal(for_rows("| passes without a miss |", 2, check_success_run), 4);
    assert_int_equal(for_rows("| all signals fall to |", 5, check_worse), 6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_worked_example),
                                       cmocka_unit_test(test_what_passes_show)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
