"""Judgements made in a line, for tests."""

from suitability.config.criteria import TOP, Group
from suitability.decide import judgement_from


def judged(*entries, **more):
    """Return the judgement of criteria and groups; `combine` and `weighing` as in a run file."""
    return judgement_from(Group.model_validate({"group": TOP, "criteria": entries, **more}))


def of_values(values, weights, **more):
    """Return the score of values themselves, by weights; None for a weight that is not stated."""
    names = [f"layer{at}_m" for at in range(len(values))]
    judgement = judged(
        *({"layer": name, "weight": weight, "value": {"rising": [0, 1]}}
          for name, weight in zip(names, weights, strict=True)),
        **more,
    )  # fmt: skip
    return judgement.score(dict(zip(names, values, strict=True)))
