"""From measures to sites: values, weights, exclusions, choice, and the reasons for each.

A run's criteria make a `Judgement`: a frozen tree whose leaves are criteria and whose branches are
groups, each with its way to combine. `Plan.judgement` holds it; `recorded_judgement` in
`outputs.record` reads it back from a finished run. What others need of it:

- `.leaves`: the criteria in their places (`.name` is the layer, `.criterion`, `.curve`, `.groups`)
  in the order of the run file; `.criteria` and `.shares` (of the whole: the product of the shares
  down the path) go along with it;
- `.score(raw)`: from measures by layer to scores, float32; NaN where a measure that counts is
  missing, and never above 1;
- `.values(raw)` and `.combine(values, shares)`: the same in two steps. `shares` replaces the
  weights of the groups that it names (`TOP` is the whole), also by arrays that broadcast, which is
  how rankings under many weights are had: `{TOP: [draws[:, :1], draws[:, 1:]]}` against values of
  shape (places,) gives (draws, places). A branch's `.counted` tells which parts its shares are for;
- `.adds_up`: whether contributions (value times share) add up to the score: weighted means only;
- `.branches`: the whole and its groups, each with `.combination` and `.weights` (their origin).

`value_of(raw, curve)` values measures on any `Curve`; `curve.ends` is where it becomes level.
"""

from suitability.decide.bases import Basis, bases_of
from suitability.decide.defaults import default_criteria
from suitability.decide.exclusions import (
    REASONS,
    ExcludedLand,
    Reason,
    count_bits,
    reason_bits,
    reasons_in,
    reasons_of,
    rule_masks,
)
from suitability.decide.explain import Part, explain_place, limiting
from suitability.decide.judgement import Judgement, judgement_from, judgement_of
from suitability.decide.sites import pick_sites
from suitability.decide.values import value_of

__all__ = [
    "REASONS",
    "Basis",
    "ExcludedLand",
    "Judgement",
    "Part",
    "Reason",
    "bases_of",
    "count_bits",
    "default_criteria",
    "explain_place",
    "judgement_from",
    "judgement_of",
    "limiting",
    "pick_sites",
    "reason_bits",
    "reasons_in",
    "reasons_of",
    "rule_masks",
    "value_of",
]
