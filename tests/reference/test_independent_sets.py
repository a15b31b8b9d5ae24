"""The exact choice against solved problems and another library.

Points that keep a distance are an independent set of a graph whose edges join closer points.

- Kings that do not attack each other on a board of n × n squares: at most ceil(n/2)² (the kings
  problem, A. M. and I. M. Yaglom, Challenging Mathematical Problems with Elementary Solutions, I;
  from memory). Kings attack at distances 1 and √2: the spacing is 2.
- Squares of a board of which no two share a side: at most ceil(n²/2), the squares of one colour.
- Weighted: NetworkX, `max_weight_clique` of the complement, whose cliques are independent sets
  (J. S. Warren and I. V. Hicks, Combinatorial branch-and-bound for the maximum weight independent
  set problem, 2006).
- More by far than greedy: a star, whose middle is worth a little more than each of its points.
"""

import math

import networkx as nx
import numpy as np
import pytest

from suitability.decide.packing import clique_cover, heaviest_apart, too_close


def board(n):
    return np.argwhere(np.ones((n, n), np.bool_))


@pytest.mark.parametrize("n", [3, 4, 7, 8, 11])
def test_kings_that_do_not_attack_each_other(n):
    squares = board(n)
    found = heaviest_apart(squares, np.ones(n * n), count=n * n, spacing=2.0, time_limit_s=60)
    assert found.taken.size == math.ceil(n / 2) ** 2
    assert found.is_proven
    assert found.most_possible == pytest.approx(math.ceil(n / 2) ** 2)


@pytest.mark.parametrize("n", [3, 5, 8])
def test_squares_of_one_colour_share_no_side(n):
    found = heaviest_apart(board(n), np.ones(n * n), count=n * n, spacing=1.2, time_limit_s=60)
    assert found.taken.size == math.ceil(n * n / 2)


@pytest.mark.parametrize("seed", range(8))
def test_another_library_finds_the_same_weight(seed):
    rng = np.random.default_rng(seed)
    points = rng.permutation(board(12))[:55]
    weights = rng.integers(1, 1000, len(points))
    spacing = float(rng.choice([2.0, 2.5, 3.7, 5.0]))
    graph = nx.Graph()
    graph.add_nodes_from(range(len(points)))
    for a in range(len(points)):
        for b in range(a):
            if np.hypot(*(points[a] - points[b])) < spacing:
                graph.add_edge(a, b)
    apart = nx.complement(graph)
    nx.set_node_attributes(apart, dict(enumerate(weights.tolist())), "weight")
    members, weight = nx.max_weight_clique(apart, "weight")
    found = heaviest_apart(
        points, weights / 1000, count=len(points), spacing=spacing, time_limit_s=60
    )
    assert weights[found.taken].sum() == weight
    assert nx.is_empty(graph.subgraph(found.taken.tolist()))
    assert found.most_possible * 1000 == pytest.approx(weight, rel=1e-6)
    assert len(members) > 1


def test_the_points_of_a_star_are_worth_more_than_its_middle():
    star = np.array([[5, 5], [5, 1], [5, 9], [1, 5], [9, 5]])
    weights = np.array([1.0, 0.9, 0.9, 0.9, 0.9])
    found = heaviest_apart(star, weights, count=5, spacing=5.0, time_limit_s=60)
    assert found.taken.tolist() == [1, 2, 3, 4]
    one = heaviest_apart(star, weights, count=1, spacing=5.0, time_limit_s=60)
    assert one.taken.tolist() == [0]


@pytest.mark.parametrize("spacing", [1.0, 2.0, 3.3, 20.0])
def test_the_cliques_hold_every_joined_pair_and_no_other(spacing):
    points = board(7)
    joined = too_close(points, spacing)
    held = np.zeros_like(joined)
    for clique in clique_cover(joined):
        held[np.ix_(clique, clique)] = True
    np.fill_diagonal(held, False)
    assert (held == joined).all()
    apart = np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1))
    assert (joined == ((apart < spacing) & (apart > 0))).all()


def test_no_points_make_an_empty_choice():
    nothing = heaviest_apart(
        np.empty((0, 2), np.int64), np.empty(0), count=3, spacing=2.0, time_limit_s=1
    )
    assert nothing.taken.size == 0
    assert nothing.most_possible == 0
