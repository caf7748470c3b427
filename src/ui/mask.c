/* Coverage by signed areas: every edge adds, in each row it crosses, the area to its right. The
 * running sum along a row is then the winding of each pixel, weighted by how much of it lies
 * inside. */
#include "ui/mask.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846

enum { CIRCLE_STEPS_MAX = 512 };

/* Sharper corners are cut off: the tip of a mitre would reach further than the line is wide. */
#define MITRE_COSINE_MIN (-0.5)

void mask_begin(Mask *mask, int width, int height)
{
    CHECK(width > 0 && height > 0);
    size_t count = ((size_t)width + 2) * (size_t)height;
    if (count > mask->capacity) {
        mask->sums = check_realloc(mask->sums, count, sizeof *mask->sums);
        mask->capacity = count;
    }
    memset(mask->sums, 0, count * sizeof *mask->sums);
    mask->width = width;
    mask->height = height;
}

void mask_free(Mask *mask)
{
    free(mask->sums);
    *mask = (Mask){0};
}

/* One row's part of an edge: from x0 to x1 (in either order) while it goes `down` of the row's
 * height (negative: up). */
static void add_part(float *row, double x0, double x1, double down)
{
    double left = fmin(x0, x1);
    double right = fmax(x0, x1);
    int first = (int)floor(left);
    int last = (int)ceil(right);
    if (last <= first + 1) {
        double inside = first + 1 - (left + right) / 2.0;
        row[first] += (float)(down * inside);
        row[first + 1] += (float)(down * (1.0 - inside));
        return;
    }
    /* Over several pixels: what has been covered up to the end of each, taken apart again. */
    double slope = down / (right - left);
    double before = 0.0;
    double step_before = 0.0;
    for (int x = first; x <= last; x++) {
        double to = fmin(x + 1, right);
        double from = fmax(x, left);
        double run = fmax(to - from, 0.0);
        double covered = slope * run * (x + 1 - (from + to) / 2.0) + step_before;
        row[x] += (float)(covered - before);
        before = covered;
        step_before += slope * run;
    }
}

static void add_edge(Mask *mask, DrawPoint from, DrawPoint to)
{
    if (from.y == to.y) return;
    double sign = from.y < to.y ? 1.0 : -1.0;
    DrawPoint top = sign > 0.0 ? from : to;
    DrawPoint bottom = sign > 0.0 ? to : from;
    double slope = (bottom.x - top.x) / (bottom.y - top.y);
    double width = mask->width;
    int first = (int)floor(fmax(top.y, 0.0));
    int last = (int)ceil(fmin(bottom.y, mask->height));
    for (int y = first; y < last; y++) {
        double y0 = fmax(top.y, y);
        double y1 = fmin(bottom.y, y + 1);
        double x0 = fmin(fmax(top.x + (y0 - top.y) * slope, 0.0), width);
        double x1 = fmin(fmax(top.x + (y1 - top.y) * slope, 0.0), width);
        add_part(mask->sums + (size_t)y * ((size_t)mask->width + 2), x0, x1, sign * (y1 - y0));
    }
}

void mask_add_outline(Mask *mask, const DrawPoint *points, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        add_edge(mask, points[i], points[(i + 1) % count]);
    }
}

void mask_add_circle(Mask *mask, DrawPoint centre, double radius, bool is_hole)
{
    DrawPoint points[CIRCLE_STEPS_MAX];
    if (radius <= 0.0) return;
    /* The chords stay within a twentieth of a pixel of the circle. */
    double wish = ceil(8.0 + 10.0 * sqrt(radius));
    size_t count = wish < CIRCLE_STEPS_MAX ? (size_t)wish : CIRCLE_STEPS_MAX;
    for (size_t i = 0; i < count; i++) {
        double angle = 2.0 * PI * (double)i / (double)count * (is_hole ? -1.0 : 1.0);
        points[i] = (DrawPoint){centre.x + radius * cos(angle), centre.y + radius * sin(angle)};
    }
    mask_add_outline(mask, points, count);
}

/* A piece of a stroke, turned so that all run the same way round. */
static void add_turned(Mask *mask, const DrawPoint *points, size_t count)
{
    double area = 0.0;
    for (size_t i = 0; i < count; i++) {
        DrawPoint a = points[i];
        DrawPoint b = points[(i + 1) % count];
        area += a.x * b.y - b.x * a.y;
    }
    for (size_t i = 0; i < count; i++) {
        DrawPoint a = points[i];
        DrawPoint b = points[(i + 1) % count];
        if (area > 0.0)
            add_edge(mask, a, b);
        else
            add_edge(mask, b, a);
    }
}

/* The unit vector across the way from a to b; false where both are one point. */
static bool across(DrawPoint a, DrawPoint b, DrawPoint *out)
{
    double length = hypot(b.x - a.x, b.y - a.y);
    if (length < 1e-9) return false;
    *out = (DrawPoint){-(b.y - a.y) / length, (b.x - a.x) / length};
    return true;
}

/* The corner at p between two ways whose cross vectors are m and n: a mitre on its outer side. */
static void add_corner(Mask *mask, DrawPoint p, DrawPoint m, DrawPoint n, double half)
{
    double side = m.x * n.y - m.y * n.x > 0.0 ? -half : half;
    double cosine = m.x * n.x + m.y * n.y;
    DrawPoint corner[4] = {p, {p.x + m.x * side, p.y + m.y * side}};
    size_t count = 2;
    if (cosine > MITRE_COSINE_MIN) {
        double reach = side / (1.0 + cosine);
        corner[count++] = (DrawPoint){p.x + (m.x + n.x) * reach, p.y + (m.y + n.y) * reach};
    }
    corner[count++] = (DrawPoint){p.x + n.x * side, p.y + n.y * side};
    add_turned(mask, corner, count);
}

void mask_add_stroke(Mask *mask, const DrawPoint *points, size_t count, bool is_closed, double px)
{
    double half = px / 2.0;
    DrawPoint last = {0.0, 0.0};
    bool has_last = false;
    size_t ways = is_closed ? count : count - 1;
    /* A closed line goes once more over its first way, for the corner alone. */
    for (size_t i = 0; i < ways + (is_closed ? 1 : 0); i++) {
        DrawPoint a = points[i % count];
        DrawPoint b = points[(i + 1) % count];
        DrawPoint n;
        if (!across(a, b, &n)) continue;
        if (has_last) add_corner(mask, a, last, n, half);
        last = n;
        has_last = true;
        if (i == ways) break;
        DrawPoint way[] = {{a.x + n.x * half, a.y + n.y * half},
                           {b.x + n.x * half, b.y + n.y * half},
                           {b.x - n.x * half, b.y - n.y * half},
                           {a.x - n.x * half, a.y - n.y * half}};
        add_turned(mask, way, 4);
    }
}

void mask_cover(const Mask *mask, uint8_t *out)
{
    for (int y = 0; y < mask->height; y++) {
        const float *row = mask->sums + (size_t)y * ((size_t)mask->width + 2);
        double sum = 0.0;
        for (int x = 0; x < mask->width; x++) {
            sum += (double)row[x];
            *out++ = (uint8_t)(255.0 * fmin(fabs(sum), 1.0) + 0.5);
        }
    }
}
