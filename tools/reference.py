#!/usr/bin/python3
"""An independent computation of `threepass pass`, for the tests and for whoever doubts the program.

    tools/reference.py FILE      reads a description ("-": standard input), prints the answer
    tools/reference.py --cases   prints tests/data/pass_cases.json: descriptions with their answers

It shares no code and no algorithm with the program. Written from the formulas of the text-books:

    coils     at probes, Biot and Savart's integral by quadrature; along the travel, the field of a
              straight wire by the angles it is seen under (Jackson, Classical Electrodynamics,
              ch. 5), in extended precision
    metal     Wait's sphere with coth, the wire with Bessel functions, both at 60 digits;
              demagnetising factor by the ellipsoid's integral (Osborn, Phys. Rev. 67 (1945) 351)
    product   the torsion series, term by term; Gauss-Legendre over the pack at every place anew
    chance    Marcum's Q by quadrature of the Rice density

Needs python3 with numpy and mpmath.
"""
import json
import math
import pathlib
import sys

import mpmath as mp
import numpy as np

mp.mp.dps = 60
MU0 = 4 * mp.pi * mp.mpf(10) ** -7
TIE = 1e-12  # moduli this close to the largest tie with it; the lowest place is taken
LONG = np.longdouble
TREE = pathlib.Path(__file__).resolve().parent.parent


# ---- coils -----------------------------------------------------------------------------

def loops(head):
    """Outline of the three loops in metres: width, height, receiver offset."""
    clear = LONG(head["coil_clearance_mm"]) / 1000
    return (LONG(head["aperture_width_mm"]) / 1000 + 2 * clear,
            LONG(head["aperture_height_mm"]) / 1000 + 2 * clear,
            LONG(head["receiver_offset_mm"]) / 1000)


def wire_field(along, d1, d2, begin, end):
    """(1/4 pi d) (sin of one angle - sin of the other) round a straight wire, over the distance d:
    times the offset it is the field's component. `along` runs with the current."""
    square = d1 * d1 + d2 * d2
    far = end - along
    near = begin - along
    sines = far / np.sqrt(far * far + square) - near / np.sqrt(near * near + square)
    return sines / (4 * LONG(np.pi) * square)


def loop_field(width, height, x, y, z):
    """A loop in the plane x = 0; the current runs from y to z. Arrays of extended precision."""
    a, b = width / 2, height / 2
    hx = hy = hz = LONG(0)
    for sign in (-1, 1):
        # The side along y at z = sign b carries its current towards -sign y: h = I dl x r.
        up = z - sign * b
        f = -sign * wire_field(y, x, up, -a, a)
        hx = hx + f * up
        hz = hz - f * x
        # The side along z at y = sign a carries it towards sign z.
        side = y - sign * a
        f = sign * wire_field(z, x, side, -b, b)
        hx = hx - f * side
        hy = hy + f * x
    return np.stack(np.broadcast_arrays(hx, hy, hz))


def fields(head, x, y, z):
    """Transmit and receive field at places along x."""
    width, height, offset = loops(head)
    transmit = loop_field(width, height, x, y, z)
    receive = (loop_field(width, height, x + offset, y, z)
               - loop_field(width, height, x - offset, y, z))
    return transmit, receive


def loop_by_quadrature(width, height, x, y, z):
    """Biot and Savart's integral over the four sides, by mpmath."""
    a, b = mp.mpf(width) / 2, mp.mpf(height) / 2
    total = [mp.mpf(0)] * 3

    def side(start, step):
        # dl = step dt, r = point - wire; dl x r / (4 pi r^3)
        def part(index):
            def integrand(t):
                r = [p - (s + t * e) for p, s, e in zip((x, y, z), start, step)]
                c = (step[1] * r[2] - step[2] * r[1], step[2] * r[0] - step[0] * r[2],
                     step[0] * r[1] - step[1] * r[0])[index]
                return c / (4 * mp.pi * (r[0] ** 2 + r[1] ** 2 + r[2] ** 2) ** 1.5)
            length = sum(e * e for e in step)
            foot = sum((p - s) * e for p, s, e in zip((x, y, z), start, step)) / length
            cuts = sorted({mp.mpf(0), mp.mpf(1), min(max(foot, mp.mpf(0)), mp.mpf(1))})
            return mp.quad(integrand, cuts)
        return [part(i) for i in range(3)]

    corners = [(0, -a, -b), (0, a, -b), (0, a, b), (0, -a, b)]
    for i in range(4):
        start, stop = corners[i], corners[(i + 1) % 4]
        more = side(start, [q - p for p, q in zip(start, stop)])
        total = [t + m for t, m in zip(total, more)]
    return total


def probe(head, at_mm):
    width = mp.mpf(head["aperture_width_mm"] + 2 * head["coil_clearance_mm"]) / 1000
    height = mp.mpf(head["aperture_height_mm"] + 2 * head["coil_clearance_mm"]) / 1000
    offset = mp.mpf(head["receiver_offset_mm"]) / 1000
    x, y, z = (mp.mpf(v) / 1000 for v in at_mm)
    with mp.workdps(25):
        transmit = loop_by_quadrature(width, height, x, y, z)
        behind = loop_by_quadrature(width, height, x + offset, y, z)
        ahead = loop_by_quadrature(width, height, x - offset, y, z)
    return {"at_mm": at_mm, "transmit_per_m": [float(v) for v in transmit],
            "receive_per_m": [float(p - q) for p, q in zip(behind, ahead)]}


# ---- metal -----------------------------------------------------------------------------

def metal_of(metal):
    if isinstance(metal, str):
        table = json.loads((TREE / "assets" / "metals.json").read_text())["metals"]
        metal = next(row for row in table if row["name"] == metal)
    return mp.mpf(metal["resistivity_ohm_m"]), mp.mpf(metal["relative_permeability"])


def shape_response(mu, demagnetising):
    return (mu - 1) / (1 + demagnetising * (mu - 1))


def polarizability(target, omega):
    """The tensor in m^3, as 3 x 3 of mpmath complex numbers."""
    rho, mu_r = metal_of(target["metal"])
    a = mp.mpf(target["diameter_mm"]) / 2000
    wave = omega * MU0 * mu_r / rho
    if target["shape"] == "sphere":
        u = a * mp.sqrt(mp.j * wave)
        c = u * mp.coth(u)
        alpha = 4 * mp.pi * a ** 3 / 3 * shape_response(mu_r * 2 * (c - 1) / (1 + u * u - c),
                                                        mp.mpf(1) / 3)
        return [[alpha if i == j else mp.mpc(0) for j in range(3)] for i in range(3)]
    length = mp.mpf(target["length_mm"]) / 1000
    z = a * mp.sqrt(-mp.j * wave)
    j0, j1 = mp.besselj(0, z), mp.besselj(1, z)
    j1_slope = j0 - j1 / z
    p = length / (2 * a)
    n_along = p / 2 * mp.quad(lambda s: 1 / ((s + p * p) ** 1.5 * (s + 1)),
                              [0, 1, p, p * p + 1, 100 * p * p, mp.inf])
    volume = mp.pi * a * a * length
    along = volume * shape_response(mu_r * 2 * j1 / (z * j0), n_along)
    across = volume * shape_response(mu_r * j1 / (z * j1_slope), (1 - n_along) / 2)
    size = mp.sqrt(sum(mp.mpf(v) ** 2 for v in target["direction"]))
    n = [mp.mpf(v) / size for v in target["direction"]]
    return [[(across if i == j else 0) + (along - across) * n[i] * n[j] for j in range(3)]
            for i in range(3)]


def metal_trace(description, tensor, places):
    head = description["head"]
    at = description["position_mm"]
    omega = 2 * np.pi * head["frequency_khz"] * 1e3
    transmit, receive = fields(head, places, LONG(at["across"]) / 1000, LONG(at["up"]) / 1000)
    couple = np.zeros(len(places), dtype=np.clongdouble)
    for i in range(3):
        for j in range(3):
            couple += np.clongdouble(complex(tensor[i][j])) * receive[i] * transmit[j]
    return 1j * omega * float(MU0) * couple


# ---- product ---------------------------------------------------------------------------

def torsion_constant(w, h):
    """Saint-Venant's series as the hand-books print it, summed until the rest is below 1e-17."""
    if w < h:
        w, h = h, w
    n = np.arange(1, 20001, 2, dtype=LONG)
    series = np.sum((np.tanh(n * LONG(np.pi) * w / (2 * h)) / n ** 5)[::-1])
    return w * h ** 3 * (1 / LONG(3) - 64 / LONG(np.pi) ** 5 * h / w * series)


def product_trace(product, head, places):
    if product is None:
        return np.zeros(len(places), dtype=np.clongdouble)
    length, w, h = (LONG(product[k]) / 1000 for k in ("length_mm", "width_mm", "height_mm"))
    across, up = product["columns"]
    torsion = across * up * torsion_constant(w / across, h / up)
    omega = 2 * np.pi * head["frequency_khz"] * 1e3
    wmu0 = LONG(omega * float(MU0))
    # Moment per length: lengthways -j w mu0 sigma J / 4, and (mu - 1) w h in every direction.
    eddy = -1j * wmu0 * LONG(product["conductivity_s_per_m"]) * torsion / 4
    magnetic = (LONG(product["relative_permeability"]) - 1) * w * h
    panels = max(64, math.ceil(float(length) / 2e-3))
    nodes, weights = np.polynomial.legendre.leggauss(8)
    edges = np.linspace(LONG(-0.5), LONG(0.5), panels + 1)
    offsets = ((edges[:-1] + edges[1:])[:, None] / 2
               + (edges[1:] - edges[:-1])[:, None] / 2 * nodes[None, :]).ravel() * length
    shares = np.tile(weights, panels) * length / (2 * panels)
    out = np.zeros(len(places), dtype=np.clongdouble)
    for i, x in enumerate(places):
        transmit, receive = fields(head, x + offsets, LONG(0), LONG(product["centre_up_mm"]) / 1000)
        moment = (eddy * np.sum(shares * receive[0] * transmit[0])
                  + magnetic * np.sum(shares * np.sum(receive * transmit, axis=0)))
        out[i] = 1j * wmu0 * moment
    return out


# ---- decision --------------------------------------------------------------------------

def first_peak(values):
    sizes = np.abs(values)
    return int(np.argmax(sizes >= np.max(sizes) * (1 - TIE)))


def marcum_q1(a, b):
    """The Rice density integrated beyond b."""
    if a > b + 40:
        return 1.0
    with mp.workdps(30):
        a, b = mp.mpf(a), mp.mpf(b)

        def rice(x):
            return x * mp.exp(-(x - a) ** 2 / 2) * mp.besseli(0, a * x) * mp.exp(-a * x)
        if a > b:
            start = max(mp.mpf(0), a - 45)
            if start >= b:
                return 1.0
            cuts = [start + (b - start) * k / 16 for k in range(17)]
            return float(1 - mp.quad(rice, cuts))
        return float(mp.quad(rice, [b + mp.mpf(k) for k in range(0, 40, 2)]))


def answer(description):
    head = description["head"]
    travel = description["travel"]
    product = description.get("product")
    learned = description.get("learned", product)
    count = int(math.floor((travel["to_mm"] - travel["from_mm"]) / travel["step_mm"] + 1e-9)) + 1
    x_mm = [travel["from_mm"] + i * travel["step_mm"] for i in range(count)]
    places = (LONG(travel["from_mm"]) + np.arange(count) * LONG(travel["step_mm"])) / 1000
    omega = 2 * mp.pi * mp.mpf(head["frequency_khz"]) * 1000

    tensor = polarizability(description["target"], omega)
    signal = metal_trace(description, tensor, places)
    today = product_trace(product, head, places)
    before = today if learned == product else product_trace(learned, head, places)

    peak = before[first_peak(before)]
    axis = peak / abs(peak) if abs(peak) > 0 else 1
    kappa = math.sqrt(-2 * math.log(head["false_reject_rate"]))
    noise = head["noise_nv"] * 1e-9
    spread = learned or {"amplitude_variation": 0, "phase_variation_rad": 0}
    limit_along = kappa * math.hypot(noise, float(spread["amplitude_variation"] * abs(peak)))
    limit_across = kappa * math.hypot(noise, float(spread["phase_variation_rad"] * abs(peak)))

    s, p, p0 = (v * np.conj(axis) for v in (signal, today, before))
    more_along = more_across = 0
    if product is not None:
        more_along = np.sign(p.real) * np.maximum(0, np.abs(p.real) - np.abs(p0.real))
        more_across = p.imag - p0.imag
    v = (s.real + more_along) / limit_along + 1j * (s.imag + more_across) / limit_across
    ratio = float(np.max(np.abs(v)))
    at = first_peak(signal)
    return {
        "polarizability_mm3": [[[float(mp.re(e) * 10 ** 9), float(mp.im(e) * 10 ** 9)] for e in row]
                               for row in tensor],
        "probe": [probe(head, p) for p in description.get("probe_mm", [])],
        "trace": {"x_mm": x_mm, "re_nv": [float(e) for e in signal.real * 10 ** 9],
                  "im_nv": [float(e) for e in signal.imag * 10 ** 9]},
        "peak_nv": float(abs(signal[at]) * 10 ** 9), "peak_x_mm": x_mm[at],
        "product_peak_nv": float(np.max(np.abs(today)) * 10 ** 9),
        "limit_along_nv": limit_along * 1e9, "limit_across_nv": limit_across * 1e9,
        "ratio": ratio, "detected": ratio > 1, "found_probability": marcum_q1(kappa * ratio, kappa),
    }


# ---- the cases of the tests ------------------------------------------------------------

BIG = {"aperture_width_mm": 700, "aperture_height_mm": 300, "coil_clearance_mm": 20,
       "receiver_offset_mm": 130, "frequency_khz": 150, "noise_nv": 3.0, "false_reject_rate": 1e-6}
SMALL = {"aperture_width_mm": 300, "aperture_height_mm": 150, "coil_clearance_mm": 15,
         "receiver_offset_mm": 60, "frequency_khz": 300, "noise_nv": 0.8,
         "false_reject_rate": 1e-12}
WET = {"length_mm": 150, "width_mm": 100, "height_mm": 60, "columns": [1, 1],
       "conductivity_s_per_m": 0.5, "relative_permeability": 1.0, "centre_up_mm": -100,
       "amplitude_variation": 0.08, "phase_variation_rad": 0.02}
SPHERE = {"shape": "sphere", "diameter_mm": 2.5, "metal": "stainless-316"}
WIRE = {"shape": "wire", "diameter_mm": 0.7, "length_mm": 36, "direction": [1, 0, 0],
        "metal": "carbon-steel"}
METALS = ["stainless-304", "stainless-316", "chrome-steel", "carbon-steel", "brass", "aluminium",
          "copper", "lead"]


def case(name, head=BIG, target=SPHERE, at=(0, 0), travel=(-700, 700, 10), **more):
    return {"name": name, "description": {
        "head": head, "target": target, "position_mm": {"across": at[0], "up": at[1]},
        "travel": dict(zip(("from_mm", "to_mm", "step_mm"), travel)), **more}}


def cases():
    rows = [
        case("sphere at the centre, bare belt",
             probe_mm=[[0, 0, 0], [50, 20, -80], [-130, 349, 10]]),
        case("sphere under learned product", product=WET, at=(20, -90)),
        case("tilted wire, off the centre", target={**WIRE, "direction": [1, -2, 0.5]},
             at=(-180, 60), product=WET, probe_mm=[[130, -180, 60], [400, 300, -140]]),
        case("case of several packs",
             product={**WET, "columns": [3, 2], "conductivity_s_per_m": 2}),
        case("bare belt under a wet program", learned=WET),
        case("bare belt under a wet program, nothing to see", learned=WET,
             target={**SPHERE, "diameter_mm": 0.3}),
        case("warmer product than learned",
             product={**WET, "conductivity_s_per_m": 0.56}, learned=WET),
        case("weaker product than learned", target=WIRE, at=(0, -100),
             product={**WET, "conductivity_s_per_m": 0.2}, learned=WET),
        case("turned pack", product={**WET, "length_mm": 100, "width_mm": 150}, learned=WET),
        case("pack on its side", product={**WET, "width_mm": 60, "height_mm": 100}, learned=WET),
        case("wrong program", product=WET,
             learned={**WET, "length_mm": 220, "conductivity_s_per_m": 0.05, "columns": [2, 1],
                      "relative_permeability": 1.002, "centre_up_mm": -60}),
        case("magnetic part in dry product", target=WIRE, at=(0, -120),
             product={**WET, "conductivity_s_per_m": 0, "relative_permeability": 1.003}),
        case("magnetic and wet, program learned less of both", target=WIRE, at=(50, -120),
             product={**WET, "relative_permeability": 1.003},
             learned={**WET, "relative_permeability": 1.0015, "conductivity_s_per_m": 0.3}),
        case("small head, small sphere", head=SMALL, at=(40, -30), travel=(-400, 400, 5),
             target={**SPHERE, "diameter_mm": 1.2},
             product={**WET, "length_mm": 110, "width_mm": 70, "height_mm": 45,
                      "centre_up_mm": -45},
             probe_mm=[[0, 0, 0], [60, 149, 74]]),
        case("large head, slow field",
             head={**BIG, "aperture_width_mm": 3000, "aperture_height_mm": 3000,
                   "coil_clearance_mm": 500, "receiver_offset_mm": 1600, "frequency_khz": 0.1,
                   "noise_nv": 1e-6, "false_reject_rate": 0.5},
             target={"shape": "sphere", "diameter_mm": 100, "metal": "copper"}, at=(1400, -1400),
             travel=(-5000, 5000, 100), product={**WET, "length_mm": 5000, "width_mm": 2000,
                                                 "height_mm": 2500, "centre_up_mm": -200,
                                                 "conductivity_s_per_m": 100}),
        case("smallest head, fast field",
             head={**SMALL, "aperture_width_mm": 20, "aperture_height_mm": 20,
                   "coil_clearance_mm": 1, "receiver_offset_mm": 8, "frequency_khz": 2000,
                   "false_reject_rate": 1e-15},
             target={"shape": "sphere", "diameter_mm": 0.01, "metal": "lead"}, at=(9, 0),
             travel=(-30, 30, 0.5), probe_mm=[[8, 10, 10], [0, 0, 0]]),
        case("long fine wire of a strong magnet",
             target={"shape": "wire", "diameter_mm": 0.01, "length_mm": 1000,
                     "direction": [0, 1e-9, 3e-9],
                     "metal": {"resistivity_ohm_m": 5e-7, "relative_permeability": 1e5}}),
        case("thick short wire", target={"shape": "wire", "diameter_mm": 100, "length_mm": 200,
                                         "direction": [1, 1, 1], "metal": "copper"}),
        case("no noise, all limits from the product", product=WET, head={**BIG, "noise_nv": 0}),
        case("receivers far apart, travel to one side", head={**BIG, "receiver_offset_mm": 400},
             travel=(-50, 900, 9.5), at=(300, 100), product=WET),
        case("travel of two points", travel=(-60, 80, 90), product=WET),
    ]
    rows += [case(f"wire of {metal}, {way}",
                  target={**WIRE, "metal": metal, "direction": direction}, at=(100, -110),
                  travel=(-600, 600, 30), product=WET)
             for metal, (way, direction) in zip(METALS, 3 * [
                 ("lengthways", [1, 0, 0]), ("crossways", [0, 1, 0]), ("vertical", [0, 0, 1])])]
    return rows


def main():
    if sys.argv[1:] == ["--cases"]:
        rows = [{**row, "answer": answer(row["description"])} for row in cases()]
        print('{"made_by": "tools/reference.py --cases", "cases": [')
        print(",\n".join(json.dumps(row) for row in rows))
        print("]}")
        return
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    text = sys.stdin.read() if sys.argv[1] == "-" else pathlib.Path(sys.argv[1]).read_text()
    print(json.dumps(answer(json.loads(text)), indent=1))


if __name__ == "__main__":
    main()
