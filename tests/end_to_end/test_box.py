"""`suitability box`: 0 where nothing falls short, 1 where something does, 2 for a mistake."""

from command import parts, refused, run, succeeded

GOOD = """\
width: 18 in
height: 30 in
chambers: 3
chamber: 0.75 in
landing: 4 in
rough_inside: true
treated_wood_inside: false
open_below: true
"""


def offered(tmp_path, text):
    path = tmp_path / "box.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_box_that_meets_all_that_is_known(tmp_path):
    printed = succeeded("box", offered(tmp_path, GOOD), "--bats", "small")
    assert "falls short: nothing of what is stated" in printed
    assert "not stated: joints closed" in printed
    assert "common practice" in printed
    assert "safe" not in printed


def test_a_box_that_falls_short_ends_with_1(tmp_path):
    ended = run("box", offered(tmp_path, GOOD.replace("18 in", "10 in")))
    assert ended.returncode == 1
    assert ended.stderr == ""
    assert "falls short: width" in ended.stdout


def test_mistakes_end_with_2(tmp_path):
    what, where, fix = parts(refused("box", offered(tmp_path, GOOD + "colr: red\n")))
    assert "'colr' is not a key of the file" in what
    assert where == "box.yaml, line 9: colr"
    assert "width" in fix
    assert "no group of bats" in refused("box", offered(tmp_path, GOOD), "--bats", "huge")
    assert "no such file of the box" in refused("box", tmp_path / "none.yaml")


def test_a_group_of_bats_of_ones_own(tmp_path):
    own = tmp_path / "species.yaml"
    own.write_text(
        "species:\n  - name: tiny\n    title: tiny bats\n    chamber: [10 mm, 12 mm, 15 mm]\n"
        "    height: [8 ft, 10 ft, 12 ft]\n    basis: our own counts\n"
    )
    ended = run("box", offered(tmp_path, GOOD), "--species", own, "--bats", "tiny")
    assert ended.returncode == 1
    assert "falls short: width of a chamber" in ended.stdout
    assert "chambers, width of a chamber: our own counts" in ended.stdout
    own.write_text(own.read_text().replace("height", "hight"))
    said = refused("box", offered(tmp_path, GOOD), "--species", own, "--bats", "tiny")
    assert "species.yaml" in said
    assert "line 5: species[0].hight" in said
