/* Biot and Savart for straight wires, and loops made of them. */
#include "detector/coil.h"

#include <math.h>

#define FOUR_PI 12.566370614359172954

static Vec3 subtract(Vec3 a, Vec3 b)
{
    return (Vec3){a.x - b.x, a.y - b.y, a.z - b.z};
}

static Vec3 cross(Vec3 a, Vec3 b)
{
    return (Vec3){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}

double coil_dot(Vec3 a, Vec3 b)
{
    return a.x * b.x + a.y * b.y + a.z * b.z;
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

Vec3 coil_loop_field(double width_m, double height_m, double at_x_m, Vec3 point)
{
    double y = 0.5 * width_m;
    double z = 0.5 * height_m;
    Vec3 corners[4] = {{at_x_m, -y, -z}, {at_x_m, y, -z}, {at_x_m, y, z}, {at_x_m, -y, z}};
    Vec3 sum = {0.0, 0.0, 0.0};
    for (int i = 0; i < 4; i++) {
        Vec3 side = coil_segment_field(corners[i], corners[(i + 1) % 4], point);
        sum.x += side.x;
        sum.y += side.y;
        sum.z += side.z;
    }
    return sum;
}

static Vec3 loop_of(const CoilHead *head, double at_x_m, Vec3 point)
{
    return coil_loop_field(head->aperture_width_m + 2.0 * head->clearance_m,
                           head->aperture_height_m + 2.0 * head->clearance_m, at_x_m, point);
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
