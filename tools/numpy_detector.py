#!/usr/bin/python3
"""The detector as whoever knows numpy would write it: plain, vectorised, from the formulas.

    tools/numpy_detector.py pass|sensitivity|pod FILE    reads a description, prints the answer
    tools/numpy_detector.py --cases    prints tests/data/numpy_cases.json: descriptions with answers
    tools/numpy_detector.py --time     times a pass, a map and a pod; prints seconds as JSON

It is the yardstick of the program's speed (tools/bench detector) and, as it shares no code with the
program, a check of its answers (tests/unit/detector/test_numpy_cases.c).

    coils      Biot and Savart for straight wires: (1/4 pi) r1 x r2 (|r1| + |r2|) /
               (|r1| |r2| (|r1| |r2| + r1 . r2)), four sides a loop, three loops a head
    metal      J. R. Wait, Geophysics 16 (1951) 666, for spheres; Bessel functions for wires, summed
               as series (so |ka| stays below 30); J. A. Osborn, Phys. Rev. 67 (1945) 351
    product    400 slices of the pack, each a bar in torsion
    decision   the ratio in the plane along and across the product's phase; one deviation a look

`pod` draws from numpy's own generator: its trials are others than the program's, its chance is the
same. Needs python3 with numpy.
"""
import json
import math
import pathlib
import sys
import time

import numpy as np

MU0 = 4e-7 * np.pi
SLICES = 400
TREE = pathlib.Path(__file__).resolve().parent.parent


def segment_field(start, stop, points):
    r1 = points - start
    r2 = points - stop
    n1 = np.linalg.norm(r1, axis=-1)
    n2 = np.linalg.norm(r2, axis=-1)
    scale = (n1 + n2) / (4 * np.pi * n1 * n2 * (n1 * n2 + np.sum(r1 * r2, axis=-1)))
    return np.cross(r1, r2) * scale[..., None]


def loop_field(head, at_x, points):
    y = (head["aperture_width_mm"] / 2 + head["coil_clearance_mm"]) / 1e3
    z = (head["aperture_height_mm"] / 2 + head["coil_clearance_mm"]) / 1e3
    corners = np.array([[at_x, -y, -z], [at_x, y, -z], [at_x, y, z], [at_x, -y, z]])
    return sum(segment_field(corners[i], corners[(i + 1) % 4], points) for i in range(4))


def fields(head, points):
    """Transmit and receive field at an array of points."""
    offset = head["receiver_offset_mm"] / 1e3
    return (loop_field(head, 0.0, points),
            loop_field(head, -offset, points) - loop_field(head, offset, points))


def line(x, y, z):
    """Points along x at one place of the cross-section."""
    return np.stack([x, np.full_like(x, y), np.full_like(x, z)], axis=-1)


def omega_of(head):
    return 2 * np.pi * head["frequency_khz"] * 1e3


def metal_of(metal):
    if isinstance(metal, str):
        table = json.loads((TREE / "assets" / "metals.json").read_text())["metals"]
        metal = next(row for row in table if row["name"] == metal)
    return metal["resistivity_ohm_m"], metal["relative_permeability"]


def sphere_response(diameter, metal, omega):
    """The polarizability in m^3, for an array of diameters in m."""
    rho, mu_r = metal_of(metal)
    a = np.asarray(diameter) / 2
    u = a * np.sqrt(1j * omega * MU0 * mu_r / rho)
    with np.errstate(all="ignore"):
        c = np.where(u.real > 300, u, u / np.tanh(u))
    mu = mu_r * 2 * (c - 1) / (1 + u * u - c)
    return 4 / 3 * np.pi * a ** 3 * (mu - 1) / (1 + (mu - 1) / 3)


def bessel(order, z):
    term = (z / 2) ** order / math.factorial(order)
    total = term
    for k in range(1, 120):
        term = term * -(z / 2) ** 2 / (k * (k + order))
        total = total + term
    return total


def wire_response(target, omega):
    """Polarizabilities along and across the wire in m^3."""
    rho, mu_r = metal_of(target["metal"])
    a = target["diameter_mm"] / 2e3
    length = target["length_mm"] / 1e3
    z = a * np.sqrt(-1j * omega * MU0 * mu_r / rho)
    j0, j1 = bessel(0, z), bessel(1, z)
    p = length / (2 * a)
    n_along = (p / math.sqrt(p * p - 1) * math.acosh(p) - 1) / (p * p - 1)
    volume = np.pi * a * a * length

    def shape(mu, n):
        return volume * (mu - 1) / (1 + n * (mu - 1))
    return (shape(mu_r * 2 * j1 / (z * j0), n_along),
            shape(mu_r * j1 / (z * (j0 - j1 / z)), (1 - n_along) / 2))


def tensors(target, omega, directions):
    """3 x 3 polarizabilities, one for each row of directions."""
    if target["shape"] == "sphere":
        alpha = sphere_response(target["diameter_mm"] / 1e3, target["metal"], omega)
        return np.broadcast_to(alpha * np.eye(3), (len(directions), 3, 3))
    along, across = wire_response(target, omega)
    n = directions / np.linalg.norm(directions, axis=1)[:, None]
    return across * np.eye(3) + (along - across) * n[:, :, None] * n[:, None, :]


def torsion_constant(w, h):
    w, h = max(w, h), min(w, h)
    n = np.arange(1, 2001, 2)
    series = np.sum(np.tanh(n * np.pi * w / (2 * h)) / n ** 5.0)
    return w * h ** 3 * (1 / 3 - 64 / np.pi ** 5 * h / w * series)


def product_signal(product, head, x):
    if product is None:
        return np.zeros(len(x), dtype=complex)
    length, w, h = (product[k] / 1e3 for k in ("length_mm", "width_mm", "height_mm"))
    across, up = product["columns"]
    torsion = across * up * torsion_constant(w / across, h / up)
    slices = ((np.arange(SLICES) + 0.5) / SLICES - 0.5) * length
    places = (x[:, None] + slices[None, :]).ravel()
    transmit, receive = fields(head, line(places, 0.0, product["centre_up_mm"] / 1e3))
    wmu0 = omega_of(head) * MU0
    moment = -1j * wmu0 * product["conductivity_s_per_m"] * torsion / 4 * transmit[:, 0]
    extra = (product["relative_permeability"] - 1) * w * h
    slice_signal = receive[:, 0] * moment + extra * np.sum(receive * transmit, axis=1)
    return 1j * wmu0 * slice_signal.reshape(len(x), SLICES).sum(axis=1) * length / SLICES


class Program:
    """What the head has learned, and what today's product adds."""

    def __init__(self, description, x):
        head = description["head"]
        product = description.get("product")
        learned = description.get("learned", product)
        today = product_signal(product, head, x)
        before = today if learned is product else product_signal(learned, head, x)
        peak = before[np.argmax(np.abs(before))]
        self.axis = peak / abs(peak) if abs(peak) > 0 else 1.0
        self.kappa = math.sqrt(-2 * math.log(head["false_reject_rate"]))
        noise = head["noise_nv"] / 1e9
        spread = learned or {"amplitude_variation": 0, "phase_variation_rad": 0}
        self.along = self.kappa * math.hypot(noise, spread["amplitude_variation"] * abs(peak))
        self.across = self.kappa * math.hypot(noise, spread["phase_variation_rad"] * abs(peak))
        self.excess = np.zeros(len(x), dtype=complex)
        if product is not None:
            p, p0 = today * np.conj(self.axis), before * np.conj(self.axis)
            more = np.sign(p.real) * np.maximum(0, np.abs(p.real) - np.abs(p0.real))
            self.excess = more / self.along + 1j * (p.imag - p0.imag) / self.across

    def in_limits(self, signal):
        turned = signal * np.conj(self.axis)
        return turned.real / self.along + 1j * turned.imag / self.across


def travel_of(description):
    travel = description["travel"]
    count = int((travel["to_mm"] - travel["from_mm"]) / travel["step_mm"] + 1e-9) + 1
    return (travel["from_mm"] + np.arange(count) * travel["step_mm"]) / 1e3


def pass_answer(description):
    head = description["head"]
    x = travel_of(description)
    program = Program(description, x)
    at = description["position_mm"]
    transmit, receive = fields(head, line(x, at["across"] / 1e3, at["up"] / 1e3))
    direction = np.array([description["target"].get("direction", [1, 0, 0])], dtype=float)
    tensor = tensors(description["target"], omega_of(head), direction)[0]
    signal = 1j * omega_of(head) * MU0 * np.einsum("pi,ij,pj->p", receive, tensor, transmit)
    ratio = np.max(np.abs(program.in_limits(signal) + program.excess))
    return {"peak_nv": float(np.max(np.abs(signal)) * 1e9), "ratio": float(ratio),
            "limit_along_nv": program.along * 1e9, "limit_across_nv": program.across * 1e9,
            "re_nv": (signal.real * 1e9).tolist(), "im_nv": (signal.imag * 1e9).tolist()}


def places_of(description):
    if "at_mm" in description:
        return np.array(description["at_mm"], dtype=float)
    head, counts = description["head"], description["map"]
    side = head["aperture_width_mm"] / 2 - 10
    up = head["aperture_height_mm"] / 2 - 10
    grid = np.meshgrid(np.linspace(-side, side, counts["across"]),
                       np.linspace(-up, up, counts["up"]))
    return np.stack([g.ravel() for g in grid], axis=1)


def sensitivity_answer(description, wanted=1.0):
    """Only where the product is as learned: then the largest |h_r . h_t| of a place says it all."""
    head = description["head"]
    x = travel_of(description)
    program = Program(description, x)
    places = places_of(description)
    coupling = np.empty(len(places))
    for i, (across, up) in enumerate(places / 1e3):
        transmit, receive = fields(head, line(x, across, up))
        coupling[i] = np.max(np.abs(np.sum(receive * transmit, axis=1)))
    answer = {}
    for metal in description["metals"]:
        name = metal if isinstance(metal, str) else metal["name"]

        def ratio(diameter):
            signal = 1j * omega_of(head) * MU0 * sphere_response(diameter, metal, omega_of(head))
            return np.abs(program.in_limits(signal)) * coupling
        # Down from the aperture's height to the first that is missed, then halving.
        high = np.full(len(places), head["aperture_height_mm"] / 1e3)
        none = ratio(high) < wanted
        low = high.copy()
        walking = ~none
        while np.any(walking):
            high = np.where(walking, low, high)
            low = np.where(walking, low * math.exp(-0.02), low)
            walking = walking & (ratio(low) >= wanted) & (low > 1e-9)
        for _ in range(40):
            middle = (low + high) / 2
            found = ratio(middle) >= wanted
            high = np.where(found, middle, high)
            low = np.where(found, low, middle)
        answer[name] = [None if n else d * 1e3 for n, d in zip(none.tolist(), high.tolist())]
    return [{"at_mm": at.tolist(), "smallest_mm": {k: v[i] for k, v in answer.items()}}
            for i, at in enumerate(places)]


def pod_answer(description):
    head, random = description["head"], description["random"]
    trials = description["trials"]
    target = description["target"]
    luck = np.random.default_rng(description["seed"])
    x = travel_of(description)
    program = Program(description, x)
    wmu0 = omega_of(head) * MU0
    found = 0
    if random["place"] == "fixed":
        at = description["position_mm"]
        transmit, receive = fields(head, line(x, at["across"] / 1e3, at["up"] / 1e3))
    for start in range(0, trials, 500):
        some = min(500, trials - start)
        n = np.tile(np.array(target.get("direction", [1, 0, 0]), dtype=float), (some, 1))
        if random["direction"]:
            n = luck.normal(size=(some, 3))
        tensor = tensors(target, omega_of(head), n)
        if random["place"] == "fixed":
            coupled = np.einsum("pi,tij,pj->tp", receive, tensor, transmit, optimize=True)
        else:
            where = np.zeros((some, 3))
            if random["place"] == "pack":
                size = [description["product"][k] for k in ("length_mm", "width_mm", "height_mm")]
                where = luck.uniform(-0.5, 0.5, (some, 3)) * size
                where[:, 2] += description["product"]["centre_up_mm"]
            else:
                size = [head["aperture_width_mm"], head["aperture_height_mm"]]
                where[:, 1:] = luck.uniform(-0.5, 0.5, (some, 2)) * size
            coupled = np.empty((some, len(x)), dtype=complex)
            for i, place in enumerate(where / 1e3):
                transmit, receive = fields(head, line(x + place[0], place[1], place[2]))
                coupled[i] = np.einsum("pi,ij,pj->p", receive, tensor[i], transmit)
        v = program.in_limits(1j * wmu0 * coupled) + program.excess
        largest = v[np.arange(some), np.argmax(np.abs(v), axis=1)]
        deviation = luck.normal(size=(some, 2)) / program.kappa
        found += int(np.sum(np.abs(largest + deviation[:, 0] + 1j * deviation[:, 1]) > 1))
    return {"trials": trials, "found": found, "probability": found / trials}


# ---- the cases of the tests and the speed ----------------------------------------------

HEAD = {"aperture_width_mm": 700, "aperture_height_mm": 300, "coil_clearance_mm": 20,
        "receiver_offset_mm": 130, "frequency_khz": 150, "noise_nv": 30.0,
        "false_reject_rate": 1e-6}
PACK = {"length_mm": 150, "width_mm": 100, "height_mm": 60, "columns": [1, 1],
        "conductivity_s_per_m": 0.15, "relative_permeability": 1.0, "centre_up_mm": -100,
        "amplitude_variation": 0.08, "phase_variation_rad": 0.02}
WIRE = {"shape": "wire", "diameter_mm": 0.7, "length_mm": 36, "direction": [1, 0, 0],
        "metal": "carbon-steel"}
BALL = {"shape": "sphere", "diameter_mm": 4, "metal": "chrome-steel"}
METALS = ["stainless-304", "stainless-316", "chrome-steel", "carbon-steel", "brass", "aluminium",
          "copper", "lead"]
PLACE = {"across": 0, "up": -100}


def travel(from_mm, to_mm, step_mm):
    return {"from_mm": from_mm, "to_mm": to_mm, "step_mm": step_mm}


PASS = {"head": HEAD, "product": PACK, "target": WIRE, "position_mm": PLACE,
        "travel": travel(-1200, 1200, 2)}
MAP = {"head": HEAD, "product": PACK, "travel": travel(-975, 975, 2), "metals": METALS,
       "map": {"across": 101, "up": 51}}
POD = {**PASS, "trials": 1000000, "seed": 1, "random": {"direction": True, "place": "fixed"}}


def cases():
    coarse = travel(-800, 800, 5)
    wet = {**PACK, "conductivity_s_per_m": 0.5}
    passes = [{**PASS, "travel": coarse}, {**PASS, "travel": coarse, "target": BALL},
              {**PASS, "travel": coarse, "product": {**wet, "columns": [3, 2]}, "learned": wet},
              {**PASS, "travel": coarse, "product": {**PACK, "relative_permeability": 1.002},
               "target": {**WIRE, "direction": [1, -2, 0.5], "metal": "brass"},
               "position_mm": {"across": 300, "up": 120}}]
    surveys = [{"head": {**HEAD, "noise_nv": 3}, "product": wet, "travel": coarse,
                "metals": METALS, "map": {"across": 7, "up": 5}},
               {"head": {**HEAD, "noise_nv": 3}, "travel": coarse,
                "metals": ["lead", {"name": "own", "resistivity_ohm_m": 3e-7,
                                    "relative_permeability": 20}],
                "at_mm": [[0, 0], [345, 10], [-200, -149]]}]
    rough = travel(-600, 600, 10)
    pods = [{**PASS, "travel": rough, "trials": 20000, "seed": 1,
             "random": {"direction": True, "place": "fixed"}},
            {**PASS, "travel": rough, "trials": 10000, "seed": 2,
             "random": {"direction": True, "place": "pack"}},
            {**PASS, "travel": rough, "trials": 10000, "seed": 3,
             "random": {"direction": True, "place": "aperture"}},
            {**PASS, "travel": rough, "trials": 10000, "seed": 4, "target": BALL,
             "random": {"direction": False, "place": "pack"}}]
    return {"made_by": "tools/numpy_detector.py --cases",
            "timed": {"pass": PASS, "map": MAP, "pod": POD},
            "pass": [{"description": d, "answer": pass_answer(d)} for d in passes],
            "sensitivity": [{"description": d, "answer": sensitivity_answer(d)} for d in surveys],
            "pod": [{"description": d, "answer": pod_answer(d)} for d in pods]}


def seconds_for(compute, times):
    took = []
    for _ in range(times):
        began = time.process_time()
        compute()
        took.append(time.process_time() - began)
    return sorted(took)[len(took) // 2]


def timings():
    """Seconds of one core. A million trials are not waited for: a part of them, times the rest."""
    fixed, pack = 10000, 200
    return {
        "pass_s": seconds_for(lambda: pass_answer(PASS), 3),
        "map_s": seconds_for(lambda: sensitivity_answer(MAP), 1),
        "pod_fixed_s": 1e6 / fixed * seconds_for(lambda: pod_answer({**POD, "trials": fixed}), 3),
        "pod_pack_s": 1e6 / pack * seconds_for(lambda: pod_answer(
            {**POD, "trials": pack, "random": {"direction": True, "place": "pack"}}), 3)}


def main():
    answers = {"pass": pass_answer, "sensitivity": sensitivity_answer, "pod": pod_answer}
    if sys.argv[1:] == ["--cases"]:
        print(json.dumps(cases()))
    elif sys.argv[1:] == ["--time"]:
        print(json.dumps(timings()))
    elif len(sys.argv) == 3 and sys.argv[1] in answers:
        description = json.loads(pathlib.Path(sys.argv[2]).read_text())
        print(json.dumps(answers[sys.argv[1]](description)))
    else:
        sys.exit(__doc__)


if __name__ == "__main__":
    main()
