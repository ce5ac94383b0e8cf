#!/usr/bin/env python3
"""Compares check digits of vehicle identification numbers with the general library vininfo (PyPI).

    vin_vininfo.py ORACLE [COUNT] [SEED]

ORACLE is the path of the built `oracle` program. Random numbers, right ones, ones with a wrong character, a wrong
length or a letter that none has. The library answers "no" for makers that it knows not to use the check digit, and
for model years that no longer exist; neither is part of 49 CFR 565.15(c), so such makers are left out and the year
check is off.
"""

import argparse
import json
import random
import subprocess
import sys

from vininfo import Vin
from vininfo.exceptions import ValidationError

CHARACTERS = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"


def one_number(dice):
    characters = dice.choices(CHARACTERS, k=17)
    kind = dice.random()
    if kind < 0.6:
        # A right check digit: try the eleven.
        for digit in "0123456789X":
            characters[8] = digit
            if Vin("".join(characters)).verify_checksum(check_year=False):
                break
    if 0.3 < kind < 0.6:
        characters[dice.randrange(17)] = dice.choice(CHARACTERS)
    elif 0.6 < kind < 0.7:
        characters[dice.randrange(17)] = dice.choice("IOQ*É")
    elif 0.7 < kind < 0.8:
        characters = dice.choices(CHARACTERS, k=dice.choice([0, 1, 16, 18, 40]))
    text = "".join(characters)
    return text.lower() if dice.random() < 0.2 else text


def expected(text):
    try:
        return Vin(text).verify_checksum(check_year=False)
    except ValidationError:
        return False


def without_check_digit(text):
    try:
        return not getattr(Vin(text).assembler, "uses_sae_checkdigit", True)
    except ValidationError:
        return False


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("oracle", help="path of the built oracle program")
    parser.add_argument("count", nargs="?", type=int, default=20_000)
    parser.add_argument("seed", nargs="?", type=int, default=1)
    arguments = parser.parse_args()
    dice = random.Random(arguments.seed)
    cases = []
    while len(cases) < arguments.count:
        text = one_number(dice)
        if not without_check_digit(text):
            cases.append(text)
    asked = "".join(json.dumps({"id": at, "vin": text}) + "\n" for at, text in enumerate(cases))
    run = subprocess.run([arguments.oracle, "vin"], input=asked, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    if len(answers) != len(cases):
        sys.exit(f"{len(cases)} numbers went in and {len(answers)} answers came out")
    failed = 0
    right = 0
    for at, (text, answer) in enumerate(zip(cases, answers)):
        wanted = expected(text)
        right += wanted
        said = answer.get("ok")
        digit_agrees = not wanted or answer.get("check_digit") == text[8].upper()
        if answer.get("id") != at or said is not wanted or not digit_agrees or (not said and not answer.get("reason")):
            failed += 1
            if failed <= 3:
                print(text, answer, "expected", wanted, file=sys.stderr)
    if not 0 < right < len(cases):
        sys.exit("the random numbers were all right or all wrong, which checks nothing")
    print(f"{len(cases) - failed} passed, {failed} failed")
    return 1 if failed or not cases else 0


if __name__ == "__main__":
    sys.exit(main())
