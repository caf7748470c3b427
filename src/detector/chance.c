/* The incomplete beta function and what stands on it. */
#include "detector/chance.h"

#include <math.h>

#include "base/check.h"
#include "detector/detect.h"

/* ln Gamma(x) less Stirling's (x - 1/2) ln x - x + ln sqrt(2 pi), for x from 0.5: his series from
 * 10 on (DLMF 5.11.1), stepped down to below it. So that ln B(a, b) of large a and b loses no
 * digits to the large terms, which cancel. */
static double stirling_rest(double x)
{
    double sum = 0.0;
    for (; x < 10.0; x += 1.0) {
        sum += (x + 0.5) * log1p(1.0 / x) - 1.0;
    }
    double y = 1.0 / (x * x);
    double series =
        1.0 / 12.0 -
        y * (1.0 / 360.0 -
             y * (1.0 / 1260.0 -
                  y * (1.0 / 1680.0 - y * (1.0 / 1188.0 - y * (691.0 / 360360.0 - y / 156.0)))));
    return sum + series / x;
}

/* ln(x / p), of full precision where the two are close. */
static double log_ratio(double x, double p)
{
    return fabs(x - p) < 0.5 * p ? log1p((x - p) / p) : log(x / p);
}

/* x^a (1 - x)^b / B(a, b), with p = a / (a + b): sqrt(a b / (2 pi (a + b))) times
 * (x / p)^a ((1 - x) / (1 - p))^b times what Stirling's formula leaves. The smaller of p and 1 - p
 * is taken from the larger, exactly: then a rounding of p has no effect of first order. */
static double beta_front(double a, double b, double x)
{
    double larger = (a > b ? a : b) / (a + b);
    double p = a > b ? larger : 1.0 - larger;
    double q = a > b ? 1.0 - larger : larger;
    double power = a * log_ratio(x, p) + b * log_ratio(1.0 - x, q);
    double rest = stirling_rest(a + b) - stirling_rest(a) - stirling_rest(b);
    return sqrt(a * (b / (a + b)) / 6.283185307179586) * exp(power + rest);
}

/* The continued fraction of DLMF 8.17.22 by the method of Lentz; converges fast for x below
 * (a + 1) / (a + b + 2). */
static double beta_fraction(double a, double b, double x)
{
    double c = 1.0;
    double d = 1.0 / (1.0 - (a + b) * x / (a + 1.0));
    double value = d;
    for (int m = 1; m < 200000; m++) {
        double even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / (1.0 + even * d);
        c = 1.0 + even / c;
        value *= d * c;
        double odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / (1.0 + odd * d);
        c = 1.0 + odd / c;
        value *= d * c;
        if (fabs(d * c - 1.0) < 1e-16) break;
    }
    return value;
}

double chance_beta(double a, double b, double x)
{
    CHECK(a >= 0.5 && b >= 0.5 && x >= 0.0 && x <= 1.0);
    if (!(x > 0.0)) return 0.0;
    if (!(x < 1.0)) return 1.0;
    if (x > (a + 1.0) / (a + b + 2.0)) {
        return 1.0 - beta_front(b, a, 1.0 - x) * beta_fraction(b, a, 1.0 - x) / b;
    }
    return beta_front(a, b, x) * beta_fraction(a, b, x) / a;
}

/* By halving, first in the logarithm, as a small chance has a small x. */
double chance_beta_inverse(double a, double b, double chance)
{
    CHECK(chance > 0.0 && chance < 1.0);
    double low = 0.0;
    double high = 1.0;
    double middle = 0.5;
    while (middle > low && middle < high) {
        if (chance_beta(a, b, middle) < chance) {
            low = middle;
        } else {
            high = middle;
        }
        middle = 0.5 * (low + high);
        if (high > 16.0 * low) middle = low > 1e-300 ? sqrt(low * high) : high / 16.0;
        if (high < 1e-300) break;
    }
    return middle;
}

ChanceInterval chance_interval(uint64_t found, uint64_t trials, double level)
{
    CHECK(trials >= 1 && trials <= CHANCE_COUNT_MAX && found <= trials);
    CHECK(level > 0.0 && level < 1.0);
    double x = (double)found;
    double rest = (double)(trials - found);
    double tail = 0.5 * (1.0 - level);
    ChanceInterval interval = {0.0, 1.0};
    /* The upper end is one minus the lower end for the misses: small numbers keep their digits. */
    if (found > 0) interval.low = chance_beta_inverse(x, rest + 1.0, tail);
    if (found < trials) interval.high = 1.0 - chance_beta_inverse(rest, x + 1.0, tail);
    return interval;
}

uint64_t chance_passes_for(double reliability, double confidence)
{
    CHECK(reliability > 0.0 && reliability < 1.0 && confidence > 0.0 && confidence < 1.0);
    double passes = ceil(log1p(-confidence) / log(reliability) * (1.0 - 1e-12));
    CHECK(passes <= CHANCE_COUNT_MAX);
    return passes < 1.0 ? 1 : (uint64_t)passes;
}

double chance_shown_by(uint64_t passes, double confidence)
{
    CHECK(passes >= 1 && confidence > 0.0 && confidence < 1.0);
    return exp(log1p(-confidence) / (double)passes);
}

double chance_check_finds(const double *ratios, size_t count, double kappa, double worse)
{
    CHECK(worse > 0.0 && kappa > 0.0);
    double log_all_found = 0.0;
    for (size_t i = 0; i < count; i++) {
        log_all_found += log1p(-detect_marcum_p1(kappa * ratios[i] / worse, kappa));
    }
    return -expm1(log_all_found);
}
