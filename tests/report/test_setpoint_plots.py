import re

import numpy as np
import pandas as pd

from alarmsift.report.setpoint_plots import leak_svg


def test_times_to_alarm_of_a_leak_are_read_off_in_plain_numbers():
    leak = np.geomspace(0.1, 10_000.0, 40)
    curves = pd.DataFrame(
        {"space": "VOID 1", "leak": leak, "mean_min": 2e4 / leak, "worst_min": 3e4 / leak}
    )
    texts = re.findall(r"<text[^>]*>([^<]*)</text>", leak_svg(curves))
    assert {"0.1", "100", "10\u202f000"} <= set(texts)
    assert not any("$" in text for text in texts)
