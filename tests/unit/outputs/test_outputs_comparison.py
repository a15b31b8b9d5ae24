"""What two runs differ in along walls, in words."""

from suitability.outputs.comparison import walls_in_words


def record(candidates=None, **out):
    walls = {"along_walls": 236, "candidates": candidates, "out": out}
    return {"choice": {"method": "greedy", **({} if candidates is None else {"walls": walls})}}


def test_runs_on_poles_say_nothing_of_walls():
    assert walls_in_words(record(), record()) == ()


def test_what_ruled_walls_out_is_told_where_it_changed():
    old = record(188, **{"wall too low": 35, "too close to canopy": 3})
    new = record(170, **{"wall too low": 53, "too close to canopy": 3})
    first, second = walls_in_words(old, new)
    assert "judged for poles" in first
    assert second == (
        "Walls: 170 candidates of 236 places along walls now, 188 candidates of 236 places along "
        "walls before; out by another count: wall too low (35, now 53)."
    )


def test_where_one_run_alone_has_walls_it_is_named():
    assert "Only the second run looks at walls: 188" in walls_in_words(record(), record(188))[1]
    assert "Only the first run looks at walls: 188" in walls_in_words(record(188), record())[1]
