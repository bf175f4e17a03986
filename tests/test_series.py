"""The days of a series, against the examples that RFC 5545 prints in section 3.8.5.3."""

import csv
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from coachbook.diary.recurrence import exists_in_zone, expand

NEW_YORK, DUBLIN = ZoneInfo("America/New_York"), ZoneInfo("Europe/Dublin")
# RFC 5545 (September 2009), section 3.8.5.3: rules with the dates that the text prints, all at 09:00 in New York.
EXAMPLES = list(csv.DictReader((Path(__file__).parent / "reference/rfc5545_rrule.csv").read_text().splitlines()))


@pytest.mark.parametrize("row", EXAMPLES, ids=lambda row: row["name"])
def test_the_examples_of_the_standard(row: dict[str, str]) -> None:
    first = datetime.strptime(row["dtstart_america_new_york"], "%Y%m%dT%H%M%S").replace(tzinfo=NEW_YORK)
    found = expand(row["rrule"], first, 60)
    assert [moment.date() for moment in found] == [
        date.fromisoformat(day) for day in row["expected_local_dates_0900"].split()
    ]
    assert {(moment.hour, moment.minute) for moment in found} == {(9, 0)}


def test_the_standards_change_from_summer_time() -> None:
    """The text marks 26 October 1997: before it 09:00 is 13:00 in UTC (EDT), after it 14:00 (EST)."""
    weekly = next(row for row in EXAMPLES if row["name"] == "weekly-until")
    found = expand(weekly["rrule"], datetime(1997, 9, 2, 9, tzinfo=NEW_YORK), 60)
    hours = {moment.date(): moment.astimezone(UTC).hour for moment in found}
    assert hours[date(1997, 10, 21)] == 13 and hours[date(1997, 10, 28)] == 14


def test_a_rule_without_an_end_is_cut_off() -> None:
    assert len(expand("FREQ=WEEKLY", datetime(2027, 3, 22, 16, tzinfo=DUBLIN), 5)) == 5


def test_an_invalid_rule_is_refused() -> None:
    with pytest.raises(ValueError):
        expand("FREQ=SOMETIMES", datetime(2027, 3, 22, 16, tzinfo=DUBLIN), 5)


def test_an_hour_does_not_exist_when_the_clocks_go_forward() -> None:
    """Summer time in the European Union begins on the last Sunday of March at 01:00 UTC (Directive 2000/84/EC)."""
    assert not exists_in_zone(datetime(2027, 3, 28, 1, 30, tzinfo=DUBLIN))
    assert exists_in_zone(datetime(2027, 3, 28, 2, 30, tzinfo=DUBLIN))
    assert exists_in_zone(datetime(2027, 3, 27, 1, 30, tzinfo=DUBLIN))
