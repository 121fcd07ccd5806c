"""Writes the federal holidays of the United States, 2000 to 2100, as an independent library gives them.

    pip install holidays==0.109
    python tests/outside/holiday_cases.py > tests/plan/cases/federal_holidays.json

`actual` are the days themselves, `observed` the weekdays on which offices are closed for them.
"""

import json
from datetime import date
from importlib.metadata import version

import holidays

years = {}
for year in range(2000, 2101):
    actual = holidays.country_holidays("US", years=year, observed=False)
    # the neighbours as well: a Saturday 1 January closes 31 December of the year before
    observed = holidays.country_holidays("US", years=[year - 1, year, year + 1], observed=True)
    years[str(year)] = {
        "actual": sorted(d.isoformat() for d in actual if d.year == year),
        "observed": sorted(d.isoformat() for d in observed if d.year == year and d.weekday() < 5),
    }

print(json.dumps({
    "source": f"PyPI holidays {version('holidays')}, country US, public holidays",
    "source_basis": "computed by an independent library",
    "years": years,
}, indent=1))
