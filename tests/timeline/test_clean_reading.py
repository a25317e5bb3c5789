import numpy as np
import pandas as pd
import pytest

from alarmsift.timeline.clean_reading import is_clean

RISING = pd.DataFrame({"value": [10.0, 20.0], "deadband": [1.0, np.nan], "direction": "rising"})
FALLING = pd.DataFrame({"value": [19.5, 18.0], "deadband": 0.5, "direction": "falling"})


@pytest.mark.parametrize(
    ("limits", "values", "clean"),
    [
        (RISING, [12.0, 9.5], False),  # under the raised setpoint, not under the lowest
        (RISING, [12.0, 8.5], True),
        (RISING, [np.nan], False),
        (RISING, [], False),
        (FALLING, [19.8], False),
        (FALLING, [20.5], True),
        (RISING[:0], [0.0], False),
    ],
)
def test_clean_is_well_on_the_safe_side_of_every_setpoint(limits, values, clean):
    assert bool(is_clean(np.array(values), limits).any()) is clean
