"""Reads the calendar file that the tests compare with, by a library of another language, and checks what it says.

    pip install icalendar==7.3.2
    python tests/outside/read_calendar.py tests/plan/cases/driveway.ics
"""

import sys
from datetime import date

from icalendar import Calendar

with open(sys.argv[1], "rb") as file:
    calendar = Calendar.from_ical(file.read())
assert not calendar.errors, calendar.errors
assert calendar["VERSION"] == "2.0" and calendar["PRODID"]
events = {str(e["UID"]): e for e in calendar.walk("VEVENT")}
assert len(events) == 12
for uid, event in events.items():
    assert not event.errors, (uid, event.errors)
    assert type(event.decoded("DTSTART")) is date and event.decoded("DTEND") > event.decoded("DTSTART"), uid
    assert str(event["LOCATION"]) == "14 Alder Bend, Millbrook", uid
    assert str(event["SUMMARY"]).endswith(" – Garden court"), uid
    assert str(event["DESCRIPTION"]).startswith("Job: Garden court"), uid
    assert event.decoded("DTSTAMP").utcoffset().total_seconds() == 0
opening = events["job-0007+open@office.example"]
assert (opening.decoded("DTSTART"), opening.decoded("DTEND")) == (date(2026, 7, 6), date(2026, 7, 7))
print(f"{len(events)} events read")
