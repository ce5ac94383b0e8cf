#!/usr/bin/env python3
"""Compares the check digits of VAT numbers with the general library python-stdnum (PyPI).

    vat_stdnum.py ORACLE [COUNT] [SEED]

ORACLE is the path of the built `oracle` program. Random numbers of each country that the rules check, right ones and wrong
ones. Left out, because the library takes more than the rules do: Belgian and Maltese check numbers beyond their modulus, and
forms that the rules leave unchecked: French and Irish ones, and numbers of people in eastern Europe.
"""

import argparse
import json
import random
import subprocess
import sys

import stdnum.ch.vat
import stdnum.eu.vat
import stdnum.gb.vat

DIGITS = {
    "AT": 8, "BE": 10, "DE": 9, "DK": 8, "EE": 9, "EL": 9, "FI": 8, "FR": 11, "HR": 11, "HU": 8, "IE": 7, "IT": 11, "LU": 8,
    "MT": 8, "NL": 9, "PL": 10, "PT": 9, "SE": 12, "SI": 8, "CH": 9,
    "BG": 9, "CY": 8, "CZ": 8, "ES": 8, "GB": 9, "LT": 9, "LV": 11, "RO": 10, "SK": 10,
}


def one_number(dice, country):
    number = "".join(dice.choices("0123456789", k=DIGITS[country]))
    likely = dice.random() < 0.8
    if country == "AT":
        number = "U" + number
    elif country == "BE":
        number = dice.choice("01") + number[1:8] + f"{dice.randrange(1, 98):02}"
    elif country == "CH":
        number = "E" + number + "MWST"
    elif country == "CY":
        number += dice.choice("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    elif country == "ES":
        number = dice.choice("0123456789XYZKLMABCDEFGHJNPQRSUVWIOT") + number[1:]
        number += dice.choice("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    elif country == "GB":
        number = number[:7] + f"{dice.randrange(97):02}" + dice.choice(["", "001"])
    elif country == "IE":
        number += dice.choice("WABCDEFGHIJKLMNOPQRSTUV") + dice.choice(["", "A", "H", "W"])
    elif country == "IT" and likely:
        number = number[:7] + f"{dice.randrange(1, 101):03}" + number[10:]
    elif country == "LT":
        number = dice.choice(["", "123"]) + number[:7] + ("1" if likely else number[7]) + number[8]
    elif country == "LV":
        number = dice.choice("456789") + number[1:]
    elif country == "MT":
        number = number[:6] + f"{dice.randrange(1, 38):02}"
    elif country == "NL":
        number += f"B{dice.randrange(0, 100):02}"
    elif country == "RO":
        number = number[:dice.randrange(2, 11)]
    elif country == "SK":
        number = dice.choice("123456789") + number[1] + dice.choice("234789") + number[3:9] + dice.choice("123456789")
    elif country == "SE" and likely:
        number = number[:10] + "01"
    return country + number


def expected(number):
    if number.startswith("CH"):
        return stdnum.ch.vat.is_valid(number)
    if number.startswith("GB"):
        return stdnum.gb.vat.is_valid(number)
    return stdnum.eu.vat.is_valid(number)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("oracle", help="path of the built oracle program")
    parser.add_argument("count", nargs="?", type=int, default=4_000, help="numbers of each country")
    parser.add_argument("seed", nargs="?", type=int, default=1)
    arguments = parser.parse_args()
    dice = random.Random(arguments.seed)
    cases = [one_number(dice, country) for country in DIGITS for _ in range(arguments.count)]
    asked = "".join(json.dumps({"id": at, "vat_id": text}) + "\n" for at, text in enumerate(cases))
    run = subprocess.run([arguments.oracle, "vat"], input=asked, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    if len(answers) != len(cases):
        sys.exit(f"{len(cases)} numbers went in and {len(answers)} answers came out")
    failed = 0
    right = dict.fromkeys(DIGITS, 0)
    for at, (text, answer) in enumerate(zip(cases, answers)):
        wanted = "RIGHT" if expected(text) else "WRONG"
        right[text[:2]] += wanted == "RIGHT"
        if answer.get("id") != at or answer.get("check") != wanted:
            failed += 1
            if failed <= 5:
                print(text, answer, "expected", wanted, file=sys.stderr)
    if not all(0 < count < arguments.count for count in right.values()):
        sys.exit(f"a country's random numbers were all right or all wrong, which checks nothing: {right}")
    print(f"{len(cases) - failed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
