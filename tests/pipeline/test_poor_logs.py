"""What poor logs cannot tell, they do not settle. Common practice, no source."""

import pytest

from alarmsift.pipeline.diagnose import diagnose
from alarmsift.reading.folder import read_logs
from alarmsift.simulate.ship import draw_settings, simulate
from alarmsift.simulate.write import write_ship
from tests.measure.study import only_in_alarm


@pytest.fixture(scope="module")
def verdicts(tmp_path_factory):
    folder = tmp_path_factory.mktemp("only_in_alarm")
    write_ship(only_in_alarm(simulate(draw_settings(11, days=12))), folder)
    episodes = diagnose(read_logs(folder)).episodes
    return episodes[episodes["kind"] == "alarm"]


def test_readings_kept_only_in_alarm_show_no_background_to_settle_an_alarm_with(verdicts):
    assert len(verdicts) > 10
    nuisance = verdicts[verdicts["treat_as"] == "nuisance"]
    assert set(nuisance["cause"]) <= {"test_gas"}
