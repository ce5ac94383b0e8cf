"""Holds the dependencies of this machine's build to .deny.toml: licences, bans, sources, and versions that are pinned.

Licence expressions are read as SPDX 2.3, annex D says (AND binds tighter than OR, WITH tighter than both; the slash of
older crates means OR).
"""

import json
import re
import subprocess
import sys
import tomllib


def allowed(expression: str, allow: set[str]) -> bool:
    """Whether a licence expression can be met with the licences in `allow`."""
    tokens = re.findall(r"[()]|[^\s()]+", expression.replace("/", " OR "))
    at = 0

    def either() -> bool:
        nonlocal at
        value = both()
        while at < len(tokens) and tokens[at] == "OR":
            at += 1
            value = both() or value
        return value

    def both() -> bool:
        nonlocal at
        value = one()
        while at < len(tokens) and tokens[at] == "AND":
            at += 1
            value = one() and value
        return value

    def one() -> bool:
        nonlocal at
        token = tokens[at]
        at += 1
        if token == "(":
            value = either()
            assert tokens[at] == ")", expression
            at += 1
            return value
        if at + 1 < len(tokens) and tokens[at] == "WITH":
            token = f"{token} WITH {tokens[at + 1]}"
            at += 2
        return token in allow

    value = either()
    assert at == len(tokens), expression
    return value


def check_the_reader() -> None:
    """The reader of expressions on cases with a known answer."""
    for expression, allow, answer in [
        ("MIT", {"MIT"}, True),
        ("MIT AND GPL-3.0-only", {"MIT"}, False),
        ("MIT OR GPL-3.0-only AND ISC", {"MIT"}, True),
        ("(MIT OR ISC) AND GPL-3.0-only", {"MIT", "ISC"}, False),
        ("Apache-2.0 WITH LLVM-exception", {"Apache-2.0"}, False),
        ("MIT/Apache-2.0", {"Apache-2.0"}, True),
    ]:
        assert allowed(expression, allow) is answer, expression


def older(version: str, bound: str) -> bool:
    """Whether a version is below the bound `<X.Y.Z`."""
    numbers = lambda text: [int(n) for n in re.findall(r"\d+", text.split("-")[0])]
    return numbers(version) < numbers(bound.lstrip("<"))


def main() -> int:
    check_the_reader()
    rules = tomllib.load(open(".deny.toml", "rb"))
    host = re.search(r"host: (\S+)", subprocess.check_output(["rustc", "-vV"], text=True))[1]
    command = ["cargo", "metadata", "--format-version", "1", "--locked", "--filter-platform", host]
    data = json.loads(subprocess.check_output(command))
    used = {node["id"] for node in data["resolve"]["nodes"]}
    allow = set(rules["licenses"]["allow"])
    sources = sorted({p["source"] for p in data["packages"] if p["source"]})
    # All from one registry: cargo's own, as nothing here configures another.
    registry = sources[0]
    faults = []
    for package in (p for p in data["packages"] if p["id"] in used):
        name = f"{package['name']} {package['version']}"
        licence = package["license"] or ""
        if not licence or not allowed(licence, allow):
            faults.append(f"{name}: licence {licence or 'unknown'}")
        source = package["source"]
        if source is not None and (not source.startswith("registry+") or source != registry):
            faults.append(f"{name}: comes from {source}")
        for ban in rules["bans"]["deny"]:
            if ban["name"] == package["name"] and ("version" not in ban or older(package["version"], ban["version"])):
                faults.append(f"{name}: banned, {ban['reason']}")
        if source is None:
            loose = [d["name"] for d in package["dependencies"] if d["req"] == "*" and d.get("path") is None]
            faults += [f"{name}: any version of {dep} would do" for dep in loose]
    print(*faults, sep="\n", end="\n" if faults else "")
    print(f"{len(used)} packages read")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
