"""What boxes hang on, and what that needs."""

import pytest

from suitability.config.settings import RunSettings

FILES = {"elevation": "dem.tif", "land_cover": "cover.tif"}
BUILT = FILES | {"buildings": "houses.gpkg"}


def settings(**more):
    return RunSettings.model_validate({"inputs": BUILT} | more)


def test_poles_are_the_rule_and_walls_have_defaults():
    assert settings().mount.kind == "pole"
    mount = settings(mount={"kind": "both", "walls": {"every": "10 ft"}}).mount
    assert mount.walls.every == pytest.approx(3.048)
    assert (mount.walls.above, mount.walls.most) == (0.6, 2000)
    assert mount.in_words == "pole- or wall-mounted"
    assert settings(mount={"kind": "wall"}).mount.in_words == "wall-mounted"


@pytest.mark.parametrize("kind", ["wall", "both"])
@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"inputs": FILES}, "no buildings are given"),
        ({"sites": {"choice": "exact"}}, "no exact choice among them"),
        (
            {
                "sites": {
                    "groups": {
                        "boxes": [
                            {"name": "sunny", "layer": "direct_sun_h", "at_least": 7},
                            {"name": "cooler", "layer": "direct_sun_h", "at_most": 6},
                        ]
                    }
                }
            },
            "boxes in groups stand on poles",
        ),
    ],
)
def test_what_does_not_go_with_walls_is_refused(kind, more, told):
    settings(**more)
    with pytest.raises(ValueError, match=told):
        settings(mount={"kind": kind}, **more)


@pytest.mark.parametrize("walls", [{"every": 0}, {"most": 0}, {"above": -1}, {"evry": 2}])
def test_odd_walls_are_refused(walls):
    with pytest.raises(ValueError, match="validation error"):
        settings(mount={"kind": "wall", "walls": walls})
