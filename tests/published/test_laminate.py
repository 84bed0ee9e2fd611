"""Classical laminate theory against textbook examples (cases/laminate.toml)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest

from mandrelwright.physics.laminate import (
    assemble,
    engineering_constants,
    laminate_free_strain,
    pair_free_strain,
    pair_stiffness,
    reduced_stiffness,
    rotated_stiffness,
    turned_strain,
)
from mandrelwright.physics.micromechanics import Fibre, Matrix, Ply, ply
from tests.published.case import read_cases

CASES = read_cases("laminate")
Inputs = Mapping[str, Any]
Answer = dict[str, Any]
GPA = 1e9
PER_MEGAKELVIN = 1e-6
SIX = ((0, 0), (0, 1), (1, 1), (0, 2), (1, 2), (2, 2))  # 11, 12, 22, 16, 26, 66


def six(matrix: np.ndarray) -> list[float]:
    return [float(matrix[index]) for index in SIX]


def stiffness(given: Inputs) -> np.ndarray:
    return reduced_stiffness(
        given["E1"] * GPA, given["E2"] * GPA, given["G12"] * GPA, given["nu12"]
    )


def turned(given: Inputs) -> np.ndarray:
    return rotated_stiffness(stiffness(given), np.radians(given["angle_deg"]))


def lamina(given: Inputs) -> Ply:
    return Ply(
        E1=given["E1"] * GPA,
        E2=given["E2"] * GPA,
        G12=given["G12"] * GPA,
        nu12=given["nu12"],
        nu23=0.40,
        alpha1=given.get("alpha1", 0.0) * PER_MEGAKELVIN,
        alpha2=given.get("alpha2", 0.0) * PER_MEGAKELVIN,
        cure1=0.0,
        cure2=0.0,
    )


def stacked(given: Inputs) -> tuple[np.ndarray, np.ndarray]:
    """Turned stiffnesses of the plies and the z of their faces, top first."""
    Q = rotated_stiffness(stiffness(given), np.radians(given["angles_deg"]))
    count = len(given["angles_deg"])
    faces = (np.arange(count + 1) - 0.5 * count) * given["thickness_mm"] * 1e-3
    return Q, faces


def whole(Q: np.ndarray, faces: np.ndarray) -> np.ndarray:
    A, B, D = assemble(Q, faces)
    return np.block([[A, B], [B, D]])


def clt_1(given: Inputs) -> Answer:
    Q = stiffness(given)
    S = np.linalg.inv(Q)
    names = ("11", "12", "22", "66")
    places = ((0, 0), (0, 1), (1, 1), (2, 2))
    found = {f"Q{name}": Q[place] / GPA for name, place in zip(names, places, strict=True)}
    return found | {f"S{name}": S[place] for name, place in zip(names, places, strict=True)}


def clt_2(given: Inputs) -> Answer:
    Q = turned(given)
    return {"Q": np.array(six(Q)) / GPA, "S": six(np.linalg.inv(Q))}


def clt_3(given: Inputs) -> Answer:
    strain = np.linalg.solve(turned(given), given["stress"])
    ply_strain = turned_strain(strain, np.radians(given["angle_deg"]))
    return {
        "strain": strain,
        "ply_strain": ply_strain,
        "ply_stress": stiffness(given) @ ply_strain,
    }


def clt_4(given: Inputs) -> Answer:
    Q = turned(given)
    Ex, Ey, Gxy, nuxy = engineering_constants(Q * 1e-3, 1e-3)
    S = np.linalg.inv(Q)
    E1 = given["E1"] * GPA
    return {
        "Ex": Ex / GPA,
        "Ey": Ey / GPA,
        "Gxy": Gxy / GPA,
        "nuxy": nuxy,
        "mx": -S[0, 2] * E1,
        "my": -S[1, 2] * E1,
    }


def clt_5(given: Inputs) -> Answer:
    """U from averages of Q̄ over the angle; E, ν, G of a [0/±60] laminate."""
    Q = rotated_stiffness(stiffness(given), np.radians([0.0, 45.0, 90.0])) / GPA
    mean = rotated_stiffness(stiffness(given), np.radians([0.0, 60.0, -60.0])).mean(0)
    U1, U4, U5 = mean[0, 0] / GPA, mean[0, 1] / GPA, mean[2, 2] / GPA
    U2 = 0.5 * (Q[0, 0, 0] - Q[2, 0, 0])
    U3 = 0.5 * (Q[0, 0, 0] + Q[2, 0, 0]) - U1
    E, _, G, nu = engineering_constants(mean * 1e-3, 1e-3)
    return {"U": [U1, U2, U3, U4, U5], "E": E / GPA, "nu": nu, "G": G / GPA}


def clt_6(given: Inputs) -> Answer:
    A, B, D = assemble(*stacked(given))
    return {"A": six(A), "B": six(B), "D": six(D)}


def clt_7(given: Inputs) -> Answer:
    Q, faces = stacked(given)
    answer = np.linalg.solve(whole(Q, faces), [*given["force"], 0.0, 0.0, 0.0])
    strain, curvature = answer[:3], answer[3:]
    top = strain + faces[1] * curvature
    middles = 0.5 * (faces[1:] + faces[:-1])
    means = [Q[i] @ (strain + middles[i] * curvature) for i in range(len(Q))]
    ply_strain = turned_strain(top, np.radians(given["angles_deg"][1]))
    return {
        "strain": strain,
        "curvature": curvature,
        "stress": Q[1] @ top,
        "ply_stress": stiffness(given) @ ply_strain,
        "share": [stress[0] * given["thickness_mm"] * 1e-3 for stress in means],
    }


def clt_8(given: Inputs) -> Answer:
    Q, faces = stacked(given)
    A, B, D = assemble(Q, faces)
    alpha = np.array([given["alpha1"], given["alpha2"], 0.0]) * PER_MEGAKELVIN
    free = given["change"] * turned_strain(alpha, -np.radians(given["angles_deg"]))
    stress = np.einsum("lij,lj->li", Q, free)
    force = np.diff(faces) @ stress
    moment = 0.5 * np.diff(faces**2) @ stress
    answer = np.linalg.solve(whole(Q, faces), np.concatenate([force, moment]))
    bottom = answer[:3] + faces[-1] * answer[3:]
    return {
        "A": [A[0, 0], A[0, 1], A[1, 1], A[2, 2]],
        "B": [B[0, 0], B[1, 1]],
        "D": [D[0, 0], D[0, 1], D[1, 1], D[2, 2]],
        "force": force[:2],
        "moment": moment[:2],
        "strain": answer[:3],
        "curvature": answer[3:],
        "bottom_strain": bottom[:2],
        "bottom_stress": (Q[-1] @ (bottom - free[-1]))[:2],
    }


def expansion(given: Inputs, angles_deg: list[float]) -> np.ndarray:
    """In-plane expansion, 1e-6/K, of equally thick pairs at the given angles."""
    one, angles = lamina(given), np.radians(angles_deg)
    free = pair_free_strain(one, angles, one.alpha1, one.alpha2)
    both = laminate_free_strain(pair_stiffness(one, angles), free, np.ones(len(angles)))
    return np.asarray(both[:2] / PER_MEGAKELVIN)


def clt_10(given: Inputs) -> Answer:
    return {
        "cross_ply": expansion(given, [0.0, 90.0]),
        "pair_45": expansion(given, [45.0]),
        "three_way": expansion(given, [0.0, 60.0, 60.0]),
        "pair_30": expansion(given, [30.0]),
        "pair_60": expansion(given, [60.0]),
    }


def clt_11(given: Inputs) -> Answer:
    back = -np.radians(given["angle_deg"])
    alpha = turned_strain([*given["alpha"], 0.0], back)
    beta = turned_strain([*given["beta"], 0.0], back)
    strain = alpha * PER_MEGAKELVIN * given["change"] + beta * given["moisture"]
    return {"alpha": alpha, "beta": beta, "strain": strain}


def pair_constants(given: Inputs, angle_deg: float) -> tuple[np.ndarray, float]:
    """(Ex, Ey, Gxy) in GPa and νxy of one pair."""
    A = pair_stiffness(lamina(given), np.radians(angle_deg)) * 1e-3
    Ex, Ey, Gxy, nuxy = engineering_constants(A, 1e-3)
    return np.array([Ex, Ey, Gxy]) / GPA, float(nuxy)


def clt_15(given: Inputs) -> Answer:
    glass, carbon = given["glass"], given["carbon"]
    at_55, at_45 = pair_constants(glass, 55.0), pair_constants(glass, 45.0)
    quasi = pair_stiffness(lamina(carbon), np.radians([90.0, 45.0, 45.0, 0.0])).mean(0)
    E, _, G, nu = engineering_constants(quasi * 1e-3, 1e-3)
    cross = rotated_stiffness(stiffness(carbon), np.radians([0.0, 90.0]))
    A, B, D = assemble(cross, np.array([-1e-3, 0.0, 1e-3]))
    return {
        "glass_55": [*at_55[0], at_55[1]],
        "glass_55_alpha": expansion(glass, [55.0]),
        "glass_45": [at_45[0][0], at_45[0][2], at_45[1]],
        "glass_45_alpha": expansion(glass, [45.0])[0],
        "quasi": [E / GPA, G / GPA, nu],
        "quasi_alpha": expansion(carbon, [90.0, 45.0, 45.0, 0.0])[0],
        "A": [A[0, 0], A[0, 1], A[2, 2]],
        "B11": B[0, 0],
        "D": [D[0, 0], D[0, 1], D[2, 2]],
    }


def clt_16(given: Inputs) -> Answer:
    """Angle at which the pair carries hoop:axial at the asked ratio by its fibres alone."""
    soft = given["E1"] * given["softness"]
    net = lamina({"E1": given["E1"], "E2": soft, "G12": soft, "nu12": 0.0})
    angles = np.radians([50.0, 60.0])
    for _ in range(60):
        middle = angles.mean()
        Q = pair_stiffness(net, middle)
        angles[int(Q[1, 1] / Q[0, 1] > given["ratio"])] = middle
    return {"angle_deg": np.degrees(angles.mean())}


def pair_1(given: Inputs) -> Answer:
    matrix = given["matrix"]
    resin = Matrix(
        matrix["E"] * GPA, matrix["nu"], matrix["alpha"] * PER_MEGAKELVIN, 1150.0, -0.005
    )
    rows = [pair_row(given, resin, name, angle) for name, angle in given["order"]]
    names = ("Ex", "Ey", "Gxy", "nuxy", "axial", "hoop")
    return dict(zip(names, np.transpose(rows), strict=True))


def pair_row(given: Inputs, resin: Matrix, name: str, angle_deg: float) -> list[float]:
    E1, E2, G12, nu12, alpha1, alpha2 = given["fibres"][name]
    fibre = Fibre(E1 * GPA, E2 * GPA, G12 * GPA, nu12, alpha1 * 1e-6, alpha2 * 1e-6, 1000.0)
    one = ply(fibre, resin, given["fibre_fraction"])
    angle = np.radians(angle_deg)
    Ex, Ey, Gxy, nuxy = engineering_constants(pair_stiffness(one, angle) * 1e-3, 1e-3)
    free = pair_free_strain(one, angle, one.alpha1, one.alpha2) / PER_MEGAKELVIN
    return [float(value) for value in (Ex / GPA, Ey / GPA, Gxy / GPA, nuxy, free[0], free[1])]


ANSWERS: dict[str, Callable[[Inputs], Answer]] = {
    "CLT-1": clt_1,
    "CLT-2": clt_2,
    "CLT-3": clt_3,
    "CLT-4": clt_4,
    "CLT-5": clt_5,
    "CLT-6": clt_6,
    "CLT-7": clt_7,
    "CLT-8": clt_8,
    "CLT-10": clt_10,
    "CLT-11": clt_11,
    "CLT-15": clt_15,
    "CLT-16": clt_16,
    "PAIR-1": pair_1,
}


@pytest.mark.parametrize("identity", CASES)
def test_case(identity: str) -> None:
    CASES[identity].check(ANSWERS[identity](CASES[identity].inputs))
