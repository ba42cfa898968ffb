"""Random positions in a zone: uniform over where it may be pulled; if stratified, one in each part of about equal area.

How they are drawn: one after the other, uniform in its part (or in the whole zone); a place too near to one drawn
before is drawn again (simple sequential inhibition). Each is rounded to the step of the drawing before it is
checked, so that the printed coordinates themselves keep every distance. Retest positions come last, beside their
pulls, so that their number does not move the pulls. All randomness comes from the generator that is passed in;
only uniform doubles are drawn.

Where the zone is crowded the spacing pushes positions towards the edges a little, as it does in any such draw.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.planning.ground import Box, Ground, most_that_fit, parts_of_equal_area

__all__ = ["NoRoom", "Positions", "draw_measurements", "draw_positions", "generator_for"]

Points = NDArray[np.float64]

_TRIES = 4000  # places drawn for one position before the zone is begun anew
_BATCH = 50
_STARTS = 12
_SLACK = 1e-9
_RINGS = (2.0, 3.0, 5.0, 9.0)  # how far from its pull a retest may lie, in spacings, the nearest first


class NoRoom(Exception):
    """So many positions have no room. ``fit``: so many, at least, have room at that spacing; ``within``: in the square
    of a measurement.
    """

    def __init__(self, fit: int, *, within: bool = False) -> None:
        super().__init__(f"room for at least {fit}")
        self.fit = fit
        self.within = within


@dataclass(frozen=True, eq=False)
class Positions:
    """Positions of a zone [m].

    Attributes
    ----------
    pulls : (n, 2)
        In the order in which they are walked: strip by strip, there and back.
    retests : (n, r, 2)
        Kept free beside each pull, the nearest first.
    parts
        The n rectangles of a stratified draw, in the order of the pulls (or of the measurements); None else.
    squares
        Where values are measurements, the square of each, whose pulls follow each other; None else.
    """

    pulls: Points
    retests: Points
    parts: tuple[Box, ...] | None
    squares: tuple[Box, ...] | None = None


def generator_for(seed: int, zone: str) -> np.random.Generator:
    """The generator of one zone: made from seed and name, so that another zone more or less moves nothing here."""
    words = np.frombuffer(hashlib.sha256(zone.encode()).digest(), dtype="<u4")
    return np.random.Generator(np.random.PCG64(np.random.SeedSequence([seed, *words.tolist()])))


def draw_positions(
    *, ground: Ground, n: int, spacing_m: float, stratified: bool, retests: int, rng: np.random.Generator
) -> Positions:
    """Draw ``n`` positions and ``retests`` more beside each.

    Parameters
    ----------
    ground
        Where a pull may be centred.
    n, retests
        Pulls, at least 1; positions to keep free beside each, at least 0.
    spacing_m
        Least distance of any two of all these positions.
    stratified
        One pull in each of n parts of about equal area; else anywhere.
    rng
        Source of all randomness.

    Raises
    ------
    NoRoom
        When no such set was found; it says how many positions have room.
    """
    parts = parts_of_equal_area(ground, n) if stratified else [ground.box] * n
    for _ in range(_STARTS if parts else 0):
        pulls = _pulls(ground, parts, spacing_m, rng)
        if pulls is None:
            continue
        order = _walk(pulls, ground)
        pulls = pulls[order]
        beside = _retests(ground, pulls, spacing_m, retests, rng)
        if beside is not None:
            return Positions(pulls, beside, tuple(parts[i] for i in order.tolist()) if stratified else None)
    raise NoRoom(most_that_fit(ground, spacing_m, enough=n * (1 + retests)))


def draw_measurements(
    *,
    ground: Ground,
    n: int,
    each: int,
    side_m: float,
    spacing_m: float,
    stratified: bool,
    retests: int,
    rng: np.random.Generator,
) -> Positions:
    """Draw ``n`` squares of side ``side_m`` and in each ``each`` positions with ``retests`` more beside each.

    Arguments as in ``draw_positions``. Squares lie whole within the ground and so far apart that pulls of two of them
    keep the spacing.

    Raises
    ------
    NoRoom
        When no such set was found: ``within`` tells whether a square is too small for its positions.
    """
    squares = Ground(ground.outline, ground.keep_outs, ground.edge_m, square_m=side_m)
    apart = float(np.sqrt(2.0)) * side_m + spacing_m
    centres = draw_positions(ground=squares, n=n, spacing_m=apart, stratified=stratified, retests=0, rng=rng)
    inside: list[Positions] = []
    for centre in centres.pulls:
        try:
            inside.append(
                draw_positions(
                    ground=squares.square_at(centre),
                    n=each,
                    spacing_m=spacing_m,
                    stratified=False,
                    retests=retests,
                    rng=rng,
                )
            )
        except NoRoom as none:
            raise NoRoom(none.fit, within=True) from none
    half = 0.5 * side_m
    boxes = tuple((x - half, y - half, x + half, y + half) for x, y in centres.pulls.tolist())
    return Positions(
        np.concatenate([found.pulls for found in inside]),
        np.concatenate([found.retests for found in inside]),
        centres.parts,
        boxes,
    )


def _pulls(ground: Ground, parts: list[Box], spacing_m: float, rng: np.random.Generator) -> Points | None:
    taken = np.empty((0, 2))
    for x0, y0, x1, y1 in parts:
        for _ in range(_TRIES // _BATCH):
            places = np.array([x0, y0]) + rng.random((_BATCH, 2)) * np.array([x1 - x0, y1 - y0])
            found = _first(ground, places, taken, spacing_m)
            if found is not None:
                taken = np.vstack([taken, found])
                break
        else:
            return None
    return taken


def _first(ground: Ground, places: Points, taken: Points, spacing_m: float) -> Points | None:
    """The first place that is allowed and far enough from those taken, rounded to the drawing's step."""
    rounded = np.round(np.round(places / ground.step_m) * ground.step_m, 3)
    good = ground.allows(rounded)
    if len(taken):
        apart = ((rounded[:, None, :] - taken) ** 2).sum(axis=2).min(axis=1)
        good &= apart >= max(spacing_m - _SLACK, 0.0) ** 2
    hit = np.flatnonzero(good)
    return rounded[hit[0]] if hit.size else None


def _walk(pulls: Points, ground: Ground) -> NDArray[np.intp]:
    """Order of the pulls strip by strip along the longer side of the zone, there and back."""
    x0, y0, x1, y1 = ground.box
    along, across, width = (0, 1, y1 - y0) if x1 - x0 >= y1 - y0 else (1, 0, x1 - x0)
    strips = max(1, round(width / np.sqrt(max((x1 - x0) * (y1 - y0) / len(pulls), 1e-12))))
    start = y0 if across == 1 else x0
    strip = np.clip(((pulls[:, across] - start) / width * strips).astype(int), 0, strips - 1)
    there = np.where(strip % 2 == 0, pulls[:, along], -pulls[:, along])
    return np.lexsort((pulls[:, across], there, strip))


def _retests(ground: Ground, pulls: Points, spacing_m: float, number: int, rng: np.random.Generator) -> Points | None:
    """Positions beside each pull: in the narrowest ring around it that has room."""
    taken = pulls
    found = np.empty((len(pulls), number, 2))
    for k in range(number):
        for i, pull in enumerate(pulls):
            place = None
            for ring in _RINGS:
                turn, out = rng.random(_BATCH) * 2 * np.pi, rng.random(_BATCH)
                radius = spacing_m * np.sqrt(1 + out * (ring**2 - 1))  # uniform over the ring's area
                around = pull + radius[:, None] * np.stack([np.cos(turn), np.sin(turn)], axis=1)
                place = _first(ground, around, taken, spacing_m)
                if place is not None:
                    break
            if place is None:
                return None
            found[i, k] = place
            taken = np.vstack([taken, place])
    away = ((found - pulls[:, None, :]) ** 2).sum(axis=2)
    return np.take_along_axis(found, np.argsort(away, axis=1, kind="stable")[:, :, None], axis=1)
