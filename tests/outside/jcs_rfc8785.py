#!/usr/bin/env python3
"""Compares canonical JSON and its digest with the general library rfc8785 (PyPI) and Python's hashlib.

    jcs_rfc8785.py ORACLE [COUNT] [SEED]

ORACLE is the path of the built `oracle` program. Random nested values with odd names, every plane of Unicode and
doubles of every size; about one in twenty holds an integer beyond 2^53, which both sides refuse. The library also
refuses 2^53 itself, which is a double and which this project takes; it is left out.
"""

import argparse
import hashlib
import json
import random
import struct
import subprocess
import sys

import rfc8785


def double(dice):
    while True:
        if dice.random() < 0.5:
            value = struct.unpack(">d", dice.randbytes(8))[0]
        else:
            value = dice.choice([1, -1]) * dice.randint(0, 10**9) * 10.0 ** dice.randint(-25, 25)
        if value == value and abs(value) != float("inf"):
            return value


def text(dice):
    pool = [(0, 0x1F), (0x20, 0x7E), (0x7F, 0xFF), (0x100, 0xD7FF), (0xE000, 0xFFFF), (0x10000, 0x10FFFF)]
    return "".join(chr(dice.randint(*dice.choice(pool))) for _ in range(dice.randint(0, 6)))


def value(dice, depth, large):
    kind = dice.random()
    if depth > 0 and kind < 0.25:
        return [value(dice, depth - 1, large) for _ in range(dice.randint(0, 4))]
    if depth > 0 and kind < 0.55:
        return {text(dice): value(dice, depth - 1, large) for _ in range(dice.randint(0, 6))}
    if kind < 0.65:
        return dice.choice([None, True, False])
    if kind < 0.8:
        return double(dice)
    if kind < 0.9:
        if large and dice.random() < 0.5:
            return dice.choice([1, -1]) * dice.randint(2**53 + 1, 2**70)
        return dice.choice([1, -1]) * dice.randint(0, 2 ** dice.randint(1, 53) - 1)
    return text(dice)


def expected(case):
    try:
        return rfc8785.dumps(case)
    except rfc8785.IntegerDomainError:
        return None


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("oracle", help="path of the built oracle program")
    parser.add_argument("count", nargs="?", type=int, default=20_000)
    parser.add_argument("seed", nargs="?", type=int, default=1)
    arguments = parser.parse_args()
    dice = random.Random(arguments.seed)
    cases = [value(dice, 5, large=dice.random() < 0.3) for _ in range(arguments.count)]
    asked = "".join(json.dumps({"id": at, "value": case}) + "\n" for at, case in enumerate(cases))
    run = subprocess.run([arguments.oracle, "canonical"], input=asked.encode(), capture_output=True, check=True)
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    if len(answers) != len(cases):
        sys.exit(f"{len(cases)} values went in and {len(answers)} answers came out")
    failed = 0
    refused = 0
    for at, (case, answer) in enumerate(zip(cases, answers)):
        wanted = expected(case)
        if wanted is None:
            refused += 1
            agrees = "error" in answer
        else:
            digest = hashlib.sha256(wanted).hexdigest()
            agrees = answer.get("canonical") == wanted.decode() and answer.get("sha256") == digest
        if answer.get("id") != at or not agrees:
            failed += 1
            if failed <= 3:
                print(json.dumps(case), answer, "expected", wanted, file=sys.stderr)
    if not 0 < refused < len(cases):
        sys.exit("no value was refused, or every one, which checks too little")
    print(f"{len(cases) - failed} passed, {failed} failed")
    return 1 if failed or not cases else 0


if __name__ == "__main__":
    sys.exit(main())
