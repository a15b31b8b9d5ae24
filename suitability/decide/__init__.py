"""From measures to sites: values, weights, exclusions, choice, and the reasons for each."""

from suitability.decide.bases import Basis, bases_of
from suitability.decide.defaults import default_criteria
from suitability.decide.exclusions import REASONS, Reason, reason_bits, reasons_in
from suitability.decide.explain import Part, explain_place, limiting
from suitability.decide.judge import shares, value_of, weighted_mean
from suitability.decide.sites import pick_sites

__all__ = [
    "REASONS",
    "Basis",
    "Part",
    "Reason",
    "bases_of",
    "default_criteria",
    "explain_place",
    "limiting",
    "pick_sites",
    "reason_bits",
    "reasons_in",
    "shares",
    "value_of",
    "weighted_mean",
]
