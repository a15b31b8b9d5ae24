"""Tasks in threads of one process: what one of them silences must not be heard from another."""

import warnings

import pytest
from rasterio.errors import NotGeoreferencedWarning

from suitability.spreading import side_by_side


def test_tasks_end_as_they_come_with_their_results():
    assert dict(side_by_side(lambda _, item: item * 2, None, [1, 2, 3])) == {1: 2, 2: 4, 3: 6}


def test_arrays_without_a_place_are_no_fault_and_filters_stay_as_they_were():
    def task(_, item):
        warnings.warn("an array", NotGeoreferencedWarning, stacklevel=1)
        return item

    before = list(warnings.filters)
    assert dict(side_by_side(task, None, [1, 2])) == {1: 1, 2: 2}
    assert warnings.filters == before
    with pytest.warns(UserWarning, match="other"):
        list(side_by_side(lambda *_: warnings.warn("other", stacklevel=1), None, [1]))
