"""Where weights come from: stated, compared in pairs, or ranked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from suitability.config.weighing import Weighing

Float64 = NDArray[np.float64]

# The mean consistency index of matrices filled at random, by size from 1. Saaty, T. L. (1980),
# The Analytic Hierarchy Process, McGraw-Hill; 9 and 10 are from memory.
RANDOM_INDEX = (0.0, 0.0, 0.58, 0.90, 1.12, 1.24, 1.32, 1.41, 1.45, 1.49)
RANDOM_INDEX_SOURCE = "Saaty 1980"
# Judgements up to this ratio are taken as consistent (Saaty 1980).
MOST_RATIO = 0.10
_LEAST_COMPARED = 3  # fewer cannot contradict each other


@dataclass(frozen=True)
class Misfit:
    """The comparison that fits the others least.

    Parameters
    ----------
    one, other : str
        What was compared.
    times : float
        How many times the first was said to matter as much as the second.
    fitting : float
        How many times the other comparisons make it.
    ratio : float
        The consistency ratio that it would have with that.
    """

    one: str
    other: str
    times: float
    fitting: float
    ratio: float


@dataclass(frozen=True)
class Consistency:
    """How far comparisons agree with each other.

    Parameters
    ----------
    index : float
        (greatest eigenvalue - n) / (n - 1); 0 where all agree.
    random_index : float
        That of comparisons at random, from the table of `RANDOM_INDEX_SOURCE`.
    ratio : float or None
        Index by random index; None for two, which always agree.
    misfit : Misfit or None
        The comparison that fits least; None where the ratio is no more than `MOST_RATIO`.
    """

    index: float
    random_index: float
    ratio: float | None
    misfit: Misfit | None


@dataclass(frozen=True)
class Weights:
    """Weights that are compared with each other, and where they come from.

    Parameters
    ----------
    shares : tuple of float
        They add up to 1.
    origin : {"stated", "pairwise", "ranking"}
        Where they come from.
    consistency : Consistency or None
        Of comparisons in pairs.
    """

    shares: tuple[float, ...]
    origin: Literal["stated", "pairwise", "ranking"]
    consistency: Consistency | None = None

    def __str__(self) -> str:
        """Say where the weights come from."""
        if self.origin == "stated":
            return "stated directly"
        if self.consistency is None:
            return "from a ranking (rank-order centroid)"
        found = self.consistency
        if found.ratio is None:
            return "from one comparison"
        return (
            f"from comparisons in pairs, consistency ratio {found.ratio:.3f} "
            f"(random index {found.random_index:.2f}, {RANDOM_INDEX_SOURCE})"
        )


def weights_of(
    names: Sequence[str], stated: Sequence[float | None], weighing: Weighing | None
) -> Weights:
    """Return the weights of what is weighed together.

    Parameters
    ----------
    names : sequence of str
        Layers and groups.
    stated : sequence of float or None
        Their weights, used where there is no weighing.
    weighing : Weighing or None
        How else they are found; it fits the names.
    """
    if weighing is None:
        given = [weight or 0.0 for weight in stated]
        total = sum(given)
        return Weights(tuple(weight / total for weight in given), "stated")
    if weighing.ranking is not None:
        found = dict(zip([name for alike in weighing.ranking for name in alike],
                         ranked_shares([len(alike) for alike in weighing.ranking]),
                         strict=True))  # fmt: skip
        return Weights(tuple(found[name] for name in names), "ranking")
    at = {name: place for place, name in enumerate(names)}
    matrix = np.ones((len(names), len(names)))
    for one, other, times in weighing.pairwise or ():
        matrix[at[one], at[other]], matrix[at[other], at[one]] = times, 1 / times
    _, shares = principal(matrix)
    return Weights(tuple(shares.tolist()), "pairwise", consistency_of(matrix, names))


def ranked_shares(sizes: Sequence[int]) -> tuple[float, ...]:
    """Return rank-order centroid weights, from the first rank to the last.

    Parameters
    ----------
    sizes : sequence of int
        How many share each rank; they share the weights of the ranks that they take up.

    References
    ----------
    Barron, F. H. and Barrett, B. E. (1996). Decision quality using ranked attribute weights.
    Management Science 42, 1515-1523.
    """
    count = sum(sizes)
    centroid = [sum(1 / k for k in range(rank, count + 1)) / count for rank in range(1, count + 1)]
    shares: list[float] = []
    for size in sizes:
        taken = centroid[len(shares) : len(shares) + size]
        shares += [sum(taken) / size] * size
    return tuple(shares)


def principal(matrix: Float64) -> tuple[float, Float64]:
    """Return the greatest eigenvalue of a positive matrix, and its eigenvector adding up to 1.

    Parameters
    ----------
    matrix : numpy.ndarray
        (n, n), all entries above 0, or 0 where two are not compared (see `_fitting`).
    """
    values, vectors = np.linalg.eig(matrix)
    greatest = int(np.argmax(values.real))  # by Perron and Frobenius real, and its vector positive
    vector = np.abs(vectors[:, greatest].real)
    return float(values[greatest].real), vector / vector.sum()


def consistency_of(matrix: Float64, names: Sequence[str]) -> Consistency:
    """Return how far comparisons in pairs agree.

    Parameters
    ----------
    matrix : numpy.ndarray
        (n, n) of a_ij, how many times i matters as much as j; a_ji = 1 / a_ij.
    names : sequence of str
        (n,) what is compared.

    References
    ----------
    Saaty (1980), as for `RANDOM_INDEX`.
    """
    count = len(names)
    random_index = RANDOM_INDEX[count - 1]
    if count < _LEAST_COMPARED:
        return Consistency(0.0, random_index, None, None)
    # An eigenvalue below n is rounding.
    index = max(0.0, (principal(matrix)[0] - count) / (count - 1))
    ratio = index / random_index
    misfit = _misfit(matrix, names) if ratio > MOST_RATIO else None
    return Consistency(index, random_index, ratio, misfit)


def _misfit(matrix: Float64, names: Sequence[str]) -> Misfit:
    """Return the comparison whose change to what the others say helps consistency most."""
    count = len(names)
    found = []
    for i, j in combinations(range(count), 2):
        fitting = _fitting(matrix, i, j)
        changed = matrix.copy()
        changed[i, j], changed[j, i] = fitting, 1 / fitting
        index = max(0.0, (principal(changed)[0] - count) / (count - 1))
        found.append((index / RANDOM_INDEX[count - 1], i, j, fitting))
    ratio, i, j, fitting = min(found)
    if matrix[i, j] >= 1:
        return Misfit(names[i], names[j], float(matrix[i, j]), fitting, ratio)
    return Misfit(names[j], names[i], float(matrix[j, i]), 1 / fitting, ratio)


def _fitting(matrix: Float64, i: int, j: int) -> float:
    """Return what all other comparisons say of a pair.

    The pair is taken as not compared: 0 in its place, 1 added on the diagonal for each (Harker,
    P. T. (1987), Incomplete pairwise comparisons in the analytic hierarchy process, Mathematical
    Modelling 9, 837-848; from memory).
    """
    without = matrix.copy()
    without[i, j] = without[j, i] = 0.0
    without[i, i] = without[j, j] = 2.0
    _, shares = principal(without)
    return float(shares[i] / shares[j])
