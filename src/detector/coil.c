/* Biot and Savart for straight wires, and loops made of them. */
#include "detector/coil.h"

#include <math.h>
#include <stdlib.h>

#include "base/check.h"

#define FOUR_PI 12.566370614359172954

static Vec3 subtract(Vec3 a, Vec3 b)
{
    return (Vec3){a.x - b.x, a.y - b.y, a.z - b.z};
}

static Vec3 cross(Vec3 a, Vec3 b)
{
    return (Vec3){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}

/* h = (1/4pi) (r1 x r2) (|r1| + |r2|) / (|r1| |r2| (|r1| |r2| + r1 . r2)), r1 = P - A, r2 = P - B.
 * The cross product is taken as (B - A) x r1, and beside the wire, where the last bracket cancels,
 * as |r1 x r2|^2 / (|r1| |r2| - r1 . r2): both keep every digit close to the wire. */
Vec3 coil_segment_field(Vec3 from, Vec3 to, Vec3 point)
{
    Vec3 r1 = subtract(point, from);
    Vec3 r2 = subtract(point, to);
    Vec3 around = cross(subtract(to, from), r1);
    double lengths = sqrt(coil_dot(r1, r1)) + sqrt(coil_dot(r2, r2));
    double product = sqrt(coil_dot(r1, r1) * coil_dot(r2, r2));
    double inner = coil_dot(r1, r2);
    double bracket = product + inner;
    if (inner < 0.0) bracket = coil_dot(around, around) / (product - inner);
    double bottom = FOUR_PI * product * bracket;
    if (!(bottom > 0.0)) return (Vec3){0.0, 0.0, 0.0};
    double scale = lengths / bottom;
    return (Vec3){around.x * scale, around.y * scale, around.z * scale};
}

/* A loop seen from a point within its outline: half its sides and the point's y and z. */
typedef struct {
    double half_width, half_height, y, z;
} Outline;

static bool is_within(const Outline *o)
{
    return fabs(o->y) < o->half_width && fabs(o->z) < o->half_height;
}

/* Within the outline each side is seen with its foot between its ends, so that its field, (sum of
 * the two cosines) / (4 pi distance), is a sum of positive parts that nothing cancels in. A loop
 * has four corners: four roots and four divisions. */
static inline Vec3 field_within(const Outline *o, double x)
{
    double left = o->y + o->half_width;
    double right = o->half_width - o->y;
    double down = o->z + o->half_height;
    double up = o->half_height - o->z;
    double to_left = x * x + left * left;
    double to_right = x * x + right * right;
    double to_down = x * x + down * down;
    double to_up = x * x + up * up;
    double left_down = sqrt(to_left + down * down);
    double right_down = sqrt(to_right + down * down);
    double right_up = sqrt(to_right + up * up);
    double left_up = sqrt(to_left + up * up);
    double by_down = (left * right_down + right * left_down) / (left_down * right_down * to_down);
    double by_right = (down * right_up + up * right_down) / (right_down * right_up * to_right);
    double by_up = (left * right_up + right * left_up) / (left_up * right_up * to_up);
    double by_left = (down * left_up + up * left_down) / (left_down * left_up * to_left);
    double hx = (down * by_down + up * by_up) + (left * by_left + right * by_right);
    return (Vec3){hx * (1.0 / FOUR_PI), x * (by_right - by_left) * (1.0 / FOUR_PI),
                  x * (by_up - by_down) * (1.0 / FOUR_PI)};
}

static Vec3 field_of_sides(const Outline *o, double x)
{
    double y = o->half_width;
    double z = o->half_height;
    Vec3 corners[4] = {{0.0, -y, -z}, {0.0, y, -z}, {0.0, y, z}, {0.0, -y, z}};
    Vec3 sum = {0.0, 0.0, 0.0};
    for (int i = 0; i < 4; i++) {
        Vec3 side = coil_segment_field(corners[i], corners[(i + 1) % 4], (Vec3){x, o->y, o->z});
        sum.x += side.x;
        sum.y += side.y;
        sum.z += side.z;
    }
    return sum;
}

Vec3 coil_loop_field(double width_m, double height_m, double at_x_m, Vec3 point)
{
    Outline o = {0.5 * width_m, 0.5 * height_m, point.y, point.z};
    return is_within(&o) ? field_within(&o, point.x - at_x_m)
                         : field_of_sides(&o, point.x - at_x_m);
}

static double coil_width(const CoilHead *head)
{
    return head->aperture_width_m + 2.0 * head->clearance_m;
}

static double coil_height(const CoilHead *head)
{
    return head->aperture_height_m + 2.0 * head->clearance_m;
}

static Vec3 loop_of(const CoilHead *head, double at_x_m, Vec3 point)
{
    return coil_loop_field(coil_width(head), coil_height(head), at_x_m, point);
}

Vec3 coil_transmit_field(const CoilHead *head, Vec3 point)
{
    return loop_of(head, 0.0, point);
}

Vec3 coil_receive_field(const CoilHead *head, Vec3 point)
{
    return subtract(loop_of(head, -head->receiver_offset_m, point),
                    loop_of(head, head->receiver_offset_m, point));
}

/* Arrays of a fixed length and a loop without a branch let every compiler take two points at a
 * time. */
enum { BLOCK = 16 };

typedef struct {
    double x[BLOCK], y[BLOCK], z[BLOCK];
} Block;

static void block_within(const Outline *o, double at_x_m, const double *restrict x,
                         Block *restrict out)
{
    for (int i = 0; i < BLOCK; i++) {
        Vec3 field = field_within(o, x[i] - at_x_m);
        out->x[i] = field.x;
        out->y[i] = field.y;
        out->z[i] = field.z;
    }
}

static void fields_within(const CoilHead *head, const Outline *o, const double *x_m, size_t count,
                          CoilFields *fields)
{
    Block transmit;
    Block behind;
    Block ahead;
    double x[BLOCK] = {0.0};
    for (size_t from = 0; from < count; from += BLOCK) {
        size_t some = count - from < BLOCK ? count - from : BLOCK;
        for (size_t i = 0; i < some; i++) {
            x[i] = x_m[from + i];
        }
        block_within(o, 0.0, x, &transmit);
        block_within(o, -head->receiver_offset_m, x, &behind);
        block_within(o, head->receiver_offset_m, x, &ahead);
        for (size_t i = 0; i < some; i++) {
            fields[from + i] = (CoilFields){
                {behind.x[i] - ahead.x[i], behind.y[i] - ahead.y[i], behind.z[i] - ahead.z[i]},
                {transmit.x[i], transmit.y[i], transmit.z[i]}};
        }
    }
}

void coil_fields(const CoilHead *head, double across_m, double up_m, const double *x_m,
                 size_t count, CoilFields *fields)
{
    Outline o = {0.5 * coil_width(head), 0.5 * coil_height(head), across_m, up_m};
    if (is_within(&o)) {
        fields_within(head, &o, x_m, count, fields);
        return;
    }
    for (size_t i = 0; i < count; i++) {
        Vec3 point = {x_m[i], across_m, up_m};
        fields[i] = (CoilFields){coil_receive_field(head, point), coil_transmit_field(head, point)};
    }
}

/* The receivers' offset in whole steps; 0 when it is not whole, or too far for sharing to pay. */
static size_t offset_in_steps(const CoilHead *head, double step_m, size_t count)
{
    double steps = round(head->receiver_offset_m / step_m);
    if (!(steps < (double)count)) return 0;
    double off = fabs(steps * step_m - head->receiver_offset_m);
    return off <= 1e-14 * head->receiver_offset_m ? (size_t)steps : 0;
}

/* The loop's field at from_x_m + i step_m for i = 0 .. count - 1. */
static void loop_along(const Outline *o, double from_x_m, double step_m, size_t count, Vec3 *loop)
{
    double x[BLOCK] = {0.0};
    Block block;
    for (size_t from = 0; from < count; from += BLOCK) {
        size_t some = count - from < BLOCK ? count - from : BLOCK;
        for (size_t i = 0; i < some; i++) {
            x[i] = from_x_m + (double)(from + i) * step_m;
        }
        block_within(o, 0.0, x, &block);
        for (size_t i = 0; i < some; i++) {
            loop[from + i] = (Vec3){block.x[i], block.y[i], block.z[i]};
        }
    }
}

void coil_fields_along(const CoilHead *head, double across_m, double up_m, double from_x_m,
                       double step_m, size_t count, CoilFields *fields)
{
    Outline o = {0.5 * coil_width(head), 0.5 * coil_height(head), across_m, up_m};
    size_t off = is_within(&o) ? offset_in_steps(head, step_m, count) : 0;
    if (off == 0) {
        double *x = check_calloc(count, sizeof *x);
        for (size_t i = 0; i < count; i++) {
            x[i] = from_x_m + (double)i * step_m;
        }
        coil_fields(head, across_m, up_m, x, count, fields);
        free(x);
        return;
    }
    size_t all = count + 2 * off;
    Vec3 *loop = check_calloc(all, sizeof *loop);
    loop_along(&o, from_x_m - (double)off * step_m, step_m, all, loop);
    for (size_t i = 0; i < count; i++) {
        fields[i] = (CoilFields){subtract(loop[i + 2 * off], loop[i]), loop[i + off]};
    }
    free(loop);
}

bool coil_strides(const CoilHead *head, double across_m, double up_m, double beyond, double *step_m,
                  size_t *count)
{
    double wire =
        fmin(0.5 * coil_width(head) - fabs(across_m), 0.5 * coil_height(head) - fabs(up_m));
    if (!(wire > 0.0)) return false;
    double step = 0.25 * wire;
    double parts = ceil(head->receiver_offset_m / step);
    if (head->receiver_offset_m > 0.5 * step) step = head->receiver_offset_m / parts;
    double strides = ceil((head->receiver_offset_m + beyond * wire) / step);
    if (!(step > 0.0) || !(strides <= COIL_STRIDES_MAX)) return false;
    *step_m = step;
    *count = (size_t)strides;
    return true;
}
