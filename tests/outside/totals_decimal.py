#!/usr/bin/env python3
"""Compares the program's totals with a second implementation of the same rules, written with Python's decimal.

    totals_decimal.py ORACLE [--documents 10000] [--seed 1]

ORACLE is the path of the built `oracle` program. It is run once, with every document on its standard input. Half of
the documents have net prices and half gross ones; about one in fifty breaks a rule and has to be answered with an
error. Prints the number of documents that agree and that do not, and ends with 1 if one does not.

Rules: EN 16931-1, BR-CO-10 to BR-CO-17 and BR-S-8, BR-S-9; halves are rounded away from zero. Gross prices are taken
apart per category and rate, and the cent that no net reaches is the document's rounding amount (BT-114).
"""

import argparse
import json
import random
import subprocess
import sys
from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction

# Codes of ISO 4217 with their number of decimals.
CURRENCIES = {"EUR": 2, "SEK": 2, "JPY": 0, "KWD": 3}
TREATMENTS = [("S", "25"), ("S", "19"), ("S", "13.5"), ("S", "7.0"), ("S", "2.1"), ("Z", "0"), ("E", "0.00"), ("AE", "0")]
WAYS_TO_BREAK = ["price", "base_quantity", "rate", "category", "currency", "text", "field"]


def rounded(value, decimals):
    """To so many decimals, halves away from zero: that is what ROUND_HALF_UP means in decimal."""
    return value.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP)


def largest_remainder(whole, shares, unit):
    """Splits whole over exact shares (fractions that sum to within a unit of it), in steps of unit."""
    if sum(shares) < 0:
        return [-part for part in largest_remainder(-whole, [-share for share in shares], unit)]
    step = Fraction(unit)
    parts = [int((share / step).__floor__()) for share in shares]
    rests = [share / step - part for share, part in zip(shares, parts)]
    left = int(Fraction(whole) / step) - sum(parts)
    for at in sorted(range(len(shares)), key=lambda at: (-rests[at], at))[:left]:
        parts[at] += 1
    return [part * unit for part in parts]


def line_amount(line, decimals):
    amount = Decimal(line["quantity"]) * Decimal(line["price"]) / Decimal(line.get("base_quantity", "1"))
    return rounded(amount, decimals) - Decimal(line.get("allowance", "0")) + Decimal(line.get("charge", "0"))


def nets_of(grosses, rate, net, unit):
    """The nets of gross items of one treatment, which sum to its net."""
    exact = [Fraction(gross) for gross in grosses]
    total = sum(exact)
    one_way = all(gross >= 0 for gross in grosses) or all(gross <= 0 for gross in grosses)
    if one_way and total != 0:
        shares = [gross * Fraction(net) / total for gross in exact]
    else:
        shares = [gross / (1 + Fraction(rate) / 100) for gross in exact]
    return largest_remainder(net, shares, unit)


def totals(document):
    """What a document comes to, every amount as a Decimal."""
    decimals = CURRENCIES[document["currency"]]
    unit = Decimal(1).scaleb(-decimals)
    items = []  # (kind, treatment, amount in the document's prices)
    for line in document["lines"]:
        items.append(("line", (line["category"], Decimal(line["rate"])), line_amount(line, decimals)))
    for kind, sign in (("allowances", -1), ("charges", 1)):
        for item in document.get(kind, []):
            items.append((kind, (item["category"], Decimal(item["rate"])), sign * Decimal(item["amount"])))
    nets = [amount for _, _, amount in items]
    rounding = Decimal(document.get("rounding", "0"))
    taxes = []
    for treatment in dict.fromkeys(treatment for _, treatment, _ in items):
        rate = treatment[1]
        own = [at for at, item in enumerate(items) if item[1] == treatment]
        entered = sum(items[at][2] for at in own)
        if document["prices"] == "gross":
            taxable = rounded(entered * 100 / (100 + rate), decimals)
            for at, net in zip(own, nets_of([items[at][2] for at in own], rate, taxable, unit)):
                nets[at] = net
        else:
            taxable = entered
        tax = rounded(taxable * rate / 100, decimals)
        if document["prices"] == "gross":
            rounding += entered - taxable - tax
        taxes.append({"category": treatment[0], "rate": rate, "taxable": taxable, "tax": tax})
    of_kind = lambda kind: [net for net, item in zip(nets, items) if item[0] == kind]
    answer = {
        "line_nets": of_kind("line"),
        "sum_of_lines": sum(of_kind("line")),
        "allowances": -sum(of_kind("allowances")),
        "charges": sum(of_kind("charges")),
        "taxes": taxes,
        "tax": sum(row["tax"] for row in taxes),
        "rounding": rounding,
        "prepaid": Decimal(document.get("prepaid", "0")),
    }
    answer["net"] = answer["sum_of_lines"] - answer["allowances"] + answer["charges"]
    answer["gross"] = answer["net"] + answer["tax"]
    answer["payable"] = answer["gross"] - answer["prepaid"] + answer["rounding"]
    return answer


def number(dice, most, decimals):
    """A number of up to so many decimals, often with fewer, written plainly."""
    text = f"{Decimal(dice.randint(0, most * 10**decimals)).scaleb(-decimals):f}"
    return text if dice.random() < 0.5 or "." not in text else text.rstrip("0").rstrip(".")


def one_document(dice, at):
    currency = dice.choice(list(CURRENCIES))
    decimals = CURRENCIES[currency]
    mix = dice.sample(TREATMENTS, dice.randint(1, 3))

    def treated(fields):
        fields["category"], fields["rate"] = dice.choice(mix)
        return fields

    lines = []
    for _ in range(dice.randint(1, 12)):
        sign = "-" if dice.random() < 0.15 else ""
        line = {"quantity": sign + number(dice, 40, dice.randint(0, 3)), "price": number(dice, 900, dice.randint(0, 5))}
        if dice.random() < 0.2:
            line["base_quantity"] = dice.choice(["1", "3", "7", "12", "0.5", "365"])
        for field in ("allowance", "charge"):
            if dice.random() < 0.2:
                line[field] = number(dice, 50, decimals)
        lines.append(treated(line))
    document = {"id": at, "currency": currency, "prices": "gross" if at % 2 else "net", "lines": lines}
    for kind in ("allowances", "charges"):
        if dice.random() < 0.4:
            document[kind] = [treated({"amount": number(dice, 80, decimals)}) for _ in range(dice.randint(1, 3))]
    if dice.random() < 0.3:
        document["prepaid"] = number(dice, 2000, decimals)
    if dice.random() < 0.2:
        document["rounding"] = dice.choice(["", "-"]) + number(dice, 1, decimals)
    return document


def broken(dice, document):
    """Breaks one rule of a document."""
    line = dice.choice(document["lines"])
    way = dice.choice(WAYS_TO_BREAK)
    if way == "price":
        line["price"] = "-1"
    elif way == "base_quantity":
        line["base_quantity"] = dice.choice(["0", "-1"])
    elif way == "rate":
        line["category"], line["rate"] = dice.choice([("Z", "19"), ("S", "0"), ("S", "-5"), ("S", "101")])
    elif way == "category":
        line["category"] = "Q"
    elif way == "currency":
        document["currency"] = "XXX"
    elif way == "text":
        line["quantity"] = dice.choice(["1e3", "", "one", "NaN", "1,5"])
    else:
        line["colour"] = "red"
    return document


def plain(value):
    """An answer with its amounts as numbers, and its tax rows in one order."""
    if isinstance(value, list):
        items = [plain(item) for item in value]
        return sorted(items, key=str) if items and isinstance(items[0], dict) else items
    if isinstance(value, dict):
        return {name: plain(item) for name, item in sorted(value.items())}
    if isinstance(value, str) and value[-1:].isdigit():
        return Decimal(value).normalize() + 0
    return value.normalize() + 0 if isinstance(value, Decimal) else value


def expectations(count, seed):
    """Documents, each with its totals, or with None where it breaks a rule."""
    dice = random.Random(seed)
    for at in range(count):
        document = one_document(dice, at)
        if dice.random() < 0.02:
            yield broken(dice, document), None
        else:
            yield document, plain(totals(document))


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("oracle", help="path of the built oracle program")
    parser.add_argument("--documents", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    with localcontext() as context:
        context.prec = 60
        cases = list(expectations(arguments.documents, arguments.seed))
        asked = "".join(json.dumps(document) + "\n" for document, _ in cases)
        run = subprocess.run([arguments.oracle, "totals"], input=asked, capture_output=True, text=True, check=True)
        answers = [json.loads(line) for line in run.stdout.splitlines()]
        if len(answers) != len(cases):
            sys.exit(f"{len(cases)} documents went in and {len(answers)} answers came out")
        failed = 0
        for (document, expected), answer in zip(cases, answers):
            same_id = answer.pop("id", None) == document["id"]
            agrees = "error" in answer if expected is None else plain(answer) == expected
            if not (same_id and agrees):
                failed += 1
                if failed <= 3:
                    print(json.dumps(document), "\n  answered:", answer, "\n  expected:", expected, file=sys.stderr)
    print(f"{len(cases) - failed} passed, {failed} failed")
    return 1 if failed or not cases else 0


if __name__ == "__main__":
    sys.exit(main())
