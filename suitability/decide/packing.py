"""The heaviest points that keep a distance, as a mixed-integer programme.

Each point is taken or not. Points closer than the distance are joined; of a clique, points that
are all joined to each other, one at most is taken. A row for each clique says far more to a solver
than a row for each pair: three points of a clique of pairs may each be taken by half.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array
from scipy.spatial import cKDTree

from suitability.grid import Float64

Bool = NDArray[np.bool_]
Picks = NDArray[np.intp]

# The solver ends when its best is within this share of what is still possible.
_GAP_SHARE = 1e-7


@dataclass(frozen=True)
class Packing:
    """The heaviest points that were found.

    Parameters
    ----------
    taken : numpy.ndarray
        (n,) indices of points, rising.
    most_possible : float
        No points that keep the distance weigh more together.
    is_proven : bool
        The search ended by itself, not by the time limit.
    """

    taken: Picks
    most_possible: float
    is_proven: bool


def heaviest_apart(
    points: NDArray[np.int64], weights: Float64, *, count: int, spacing: float, time_limit_s: float
) -> Packing:
    """Return the points of the greatest total weight, none closer to another than the spacing.

    Parameters
    ----------
    points : numpy.ndarray
        (n, 2) whole rows and columns, each pair once.
    weights : numpy.ndarray
        (n,) not below 0.
    count : int
        How many points are taken at most.
    spacing : float
        Least distance between two points taken.
    time_limit_s : float
        How long to search. [s]

    Returns
    -------
    Packing
        Without any point if the time limit ended the search before it had found one.
    """
    if not weights.size:
        return Packing(np.empty(0, np.intp), 0.0, True)
    cliques = clique_cover(too_close(points, spacing))
    rows = np.repeat(np.arange(len(cliques)), [clique.size for clique in cliques])
    cols = np.concatenate([*cliques, np.empty(0, np.intp)]).astype(np.intp)
    shape = (len(cliques), weights.size)
    limits = [LinearConstraint(np.ones((1, weights.size)), 0, count)]
    if cliques:
        of_cliques = csr_array((np.ones(cols.size), (rows, cols)), shape=shape)
        limits.append(LinearConstraint(of_cliques, 0, 1))
    found = milp(
        -weights,
        constraints=limits,
        integrality=np.ones(weights.size),
        bounds=Bounds(0, 1),
        options={"time_limit": time_limit_s, "mip_rel_gap": _GAP_SHARE},
    )
    bound = found.get("mip_dual_bound")
    most = float(weights.sum()) if bound is None else -float(bound)
    taken = np.empty(0, np.intp) if found.x is None else np.flatnonzero(found.x > 0.5)
    return Packing(taken, max(most, float(weights[taken].sum())), found.status == 0)


def too_close(points: NDArray[np.int64], spacing: float) -> Bool:
    """Return which points lie closer to each other than the spacing, (n, n)."""
    joined = np.zeros((len(points),) * 2, np.bool_)
    pairs = cKDTree(points).query_pairs(spacing, output_type="ndarray")
    # Distances at the spacing itself are far enough: whole numbers tell, not a tree's rounding.
    apart_squared = ((points[pairs[:, 0]] - points[pairs[:, 1]]) ** 2).sum(axis=1)
    pairs = pairs[apart_squared < spacing**2]
    joined[pairs[:, 0], pairs[:, 1]] = joined[pairs[:, 1], pairs[:, 0]] = True
    return joined


def clique_cover(joined: Bool) -> list[Picks]:
    """Return cliques that hold every joined pair, each as indices, rising.

    Greedy: from the first pair that no clique holds yet, points joined to all taken so far are
    added, those first whose pair with the first point is not held yet.

    Parameters
    ----------
    joined : numpy.ndarray
        (n, n) bool, symmetric, False on the diagonal.
    """
    left = np.triu(joined, 1)
    cliques = []
    for first in range(len(joined)):
        while (others := np.flatnonzero(left[first])).size:
            clique = [first]
            fitting = joined[first].copy()
            while others.size:
                clique.append(int(others[0]))
                fitting &= joined[clique[-1]]
                others = np.flatnonzero(fitting & left[first])
                if not others.size:
                    others = np.flatnonzero(fitting)
            members = np.sort(clique)
            left[np.ix_(members, members)] = False
            cliques.append(members)
    return cliques
