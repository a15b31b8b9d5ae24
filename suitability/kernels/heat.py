"""Temperatures of a box's chambers, step by step, and what there is to count in them."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True, nogil=True, error_model="numpy")
def warmed_by(gain, keep, take, steps):  # type: ignore[no-untyped-def]
    """Return each hour's mean of chambers that start at 0 and are given heat, (hours, nodes).

    Parameters
    ----------
    gain : (hours · steps, nodes) float64
        Heat that each chamber is given in a step. [W]
    keep : (hours, nodes, nodes) float64
        What a step leaves of the temperatures: exp(-C⁻¹ K dt).
    take : (hours, nodes, nodes) float64
        What a step makes of the heat: (1 - keep) K⁻¹. [K/W]
    steps : int
        Steps in an hour.
    """
    hours, nodes = keep.shape[0], keep.shape[1]
    mean = np.zeros((hours, nodes))
    now = np.zeros(nodes)
    after = np.zeros(nodes)
    for hour in range(hours):
        for step in range(steps):
            row = hour * steps + step
            for i in range(nodes):
                total = 0.0
                for j in range(nodes):
                    total += keep[hour, i, j] * now[j] + take[hour, i, j] * gain[row, j]
                after[i] = total
            for i in range(nodes):
                mean[hour, i] += 0.5 * (now[i] + after[i]) / steps
                now[i] = after[i]
    return mean


@njit(cache=True, nogil=True, error_model="numpy")
def warmed_by_light(  # type: ignore[no-untyped-def]
    areas, front, light, roof, face, per_area, keep, take, steps
):
    """Return each hour's mean of chambers warmed by light on the faces, (hours, nodes).

    Parameters
    ----------
    areas : (nodes, 5) float64
        Of each chamber behind front, right, back, left and roof. [m²]
    front : (hours · steps,) float64
        Light on the front. [W/m²]
    light : (faces, hours · steps) float64
        Light on upright faces. [W/m²]
    roof : (hours · steps,) float64
        Light on the roof. [W/m²]
    face : (4,) int64
        Which row of `light` the front, the right, the back and the left are.
    per_area : (hours,) float64
        Share of what a face absorbs that comes in.
    keep, take, steps
        As for `warmed_by`.
    """
    hours, nodes = keep.shape[0], keep.shape[1]
    mean = np.zeros((hours, nodes))
    now = np.zeros(nodes)
    after = np.zeros(nodes)
    gain = np.zeros(nodes)
    for hour in range(hours):
        share = per_area[hour]
        for step in range(steps):
            row = hour * steps + step
            right = light[face[1], row]
            back = light[face[2], row]
            left = light[face[3], row]
            for i in range(nodes):
                gain[i] = share * (
                    areas[i, 0] * front[row]
                    + areas[i, 1] * right
                    + areas[i, 2] * back
                    + areas[i, 3] * left
                    + areas[i, 4] * roof[row]
                )
            for i in range(nodes):
                total = 0.0
                for j in range(nodes):
                    total += keep[hour, i, j] * now[j] + take[hour, i, j] * gain[j]
                after[i] = total
            for i in range(nodes):
                mean[hour, i] += 0.5 * (now[i] + after[i]) / steps
                now[i] = after[i]
    return mean


@njit(cache=True, nogil=True, error_model="numpy")
def counted(  # type: ignore[no-untyped-def]
    base, sunny, share, first, comfortable, tolerable, stress, severe, out
):
    """Count hours and days of chambers at `base + share · sunny`, by the hour.

    Parameters
    ----------
    base, sunny : (hours, nodes) float64
        Temperatures without sun [°C], and what the sun adds to a box that takes up all light. [K]
    share : float
        Of light that the box takes up.
    first : int
        Hour from which on hours count; whole days follow.
    comfortable, tolerable : (2,) float64
        Ranges. [°C]
    stress, severe : float
        Thresholds. [°C]
    out : (10,) float64
        Filled with hours in the two ranges, hours with the warmest above the two thresholds, hours
        with the coolest above the first, the longest run above it, the first hour above it (-1 if
        none, counted from `first`), and the warmest's mean daily maximum, mean daily minimum and
        least.
    """
    hours, nodes = base.shape
    out[:] = 0.0
    out[6] = -1.0
    out[9] = np.inf
    run = 0
    days = 0
    low = np.inf
    high = -np.inf
    for hour in range(first, hours):
        warmest = -np.inf
        coolest = np.inf
        is_comfortable = False
        is_tolerable = False
        for i in range(nodes):
            now = base[hour, i] + share * sunny[hour, i]
            warmest = max(warmest, now)
            coolest = min(coolest, now)
            is_comfortable |= comfortable[0] <= now <= comfortable[1]
            is_tolerable |= tolerable[0] <= now <= tolerable[1]
        out[0] += is_comfortable
        out[1] += is_tolerable
        out[3] += warmest > severe
        out[4] += coolest > stress
        if warmest > stress:
            out[2] += 1
            run += 1
            out[5] = max(out[5], run)
            if out[6] < 0:
                out[6] = hour - first
        else:
            run = 0
        low = min(low, warmest)
        high = max(high, warmest)
        if (hour - first) % 24 == 23:
            days += 1
            out[7] += high
            out[8] += low
            out[9] = min(out[9], low)
            low = np.inf
            high = -np.inf
    out[7] /= days
    out[8] /= days
