"""A price list written by Python's csv module (RFC 4180 with CRLF), apart from the service.

    python3 tests/outside/price_list_cases.py > tests/reference/cases/price_list.csv

Text that a spreadsheet would run as a formula stands behind an apostrophe, as the service writes it.
"""
import csv
import io
import sys

ROWS = [
    ("code", "name", "category", "unit", "price", "currency", "increment", "supplier"),
    ("plain", "Channel", "material", "each", "27.40", "USD", "", ""),
    ("comma", "Channel, 4 in light, 4 ft", "material", "each", "0.00", "USD", "1", "Yard, north"),
    ("quote", 'Grate, 1/2" bars, "heavy"', "material", "ft", "3.271234", "USD", "0.5", 'The "Yard"'),
    ("formula", "'=1+1", "permit", "lump_sum", "75.00", "USD", "0", "'@yard"),
    ("dash", "'-5 deg elbow", "material", "each", "4.10", "USD", "", ""),
    ("apostrophe", "'quoted'", "hire", "day", "95.00", "USD", "", ""),
    ("twice", "'''=2", "hire", "hr", "12.50", "USD", "", ""),
    ("wide", "'\uff1dx", "disposal", "short_ton", "61.00", "USD", "2.5", ""),
    ("alphabets", "R\u00f6hre \u6f22\u5b57 \U0001f6b0", "subcontract", "yd3", "1234567.89", "USD", "", "\u00d8"),
    ("semicolon", "a;b\u00a0c ", "labor", "min", "0.333333", "USD", "", " lead"),
]
out = io.StringIO()
csv.writer(out, lineterminator="\r\n").writerows(ROWS)
sys.stdout.buffer.write(out.getvalue().encode("utf-8"))
