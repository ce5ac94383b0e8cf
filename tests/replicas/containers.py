"""The files that containers are made from, read as Docker and nginx read them, for whoever starts the same by hand."""
import pathlib
import re

import dockerfile_parse
import yaml

ROOT = pathlib.Path(__file__).resolve().parents[2]
COMPOSE = ROOT / "docker-compose.yml"
DOCKERFILE = ROOT / "api" / "Dockerfile"
PROXY = ROOT / "api" / "proxy.conf"
REPLICAS = ("api-1", "api-2")
# An address of the loopback in the place of those from which a program for TLS reaches the proxy.
GATEWAY = "127.0.0.31"


def compose():
    """docker-compose.yml as it is written, with its anchors followed."""
    return yaml.safe_load(COMPOSE.read_text())


# `${NAME}`, `${NAME:-DEFAULT}` and `${NAME:?WHAT TO DO}` of the Compose Specification, "Interpolation".
VARIABLE = re.compile(r"\$\{(?P<name>\w+)(?::(?P<kind>[-?])(?P<rest>[^}]*))?\}")


def interpolated(value, given):
    """A value with the variables of whoever starts it, as the Compose Specification puts them in."""
    def filled(match):
        name, kind, rest = match["name"], match["kind"], match["rest"]
        if given.get(name):
            return given[name]
        assert kind == "-", f"{name} is needed: {rest}"
        return rest

    return VARIABLE.sub(filled, value)


def stages():
    """The stages of the Dockerfile by name, each a list of (instruction, value), and the base that it stands on."""
    parser, found, name = dockerfile_parse.DockerfileParser(str(DOCKERFILE)), {}, None
    for line in parser.structure:
        if line["instruction"] == "FROM":
            base, name = re.fullmatch(r"(\S+) AS (\S+)", line["value"]).groups()
            found[name] = {"base": base, "lines": []}
        elif line["instruction"] != "COMMENT":
            found[name]["lines"].append((line["instruction"], line["value"]))
    return found


def words(stage, instruction):
    """What an instruction of a stage says, where it is there once."""
    said = [value for name, value in stage["lines"] if name == instruction]
    assert len(said) == 1, f"{instruction} stands {len(said)} times"
    return said[0]


def proxy(listen, replicas, folder):
    """The proxy's configuration with addresses on this machine, in the place of each name that stands in it once."""
    text = PROXY.read_text()
    changes = {"listen 8080;": f"listen {listen};", "/tmp/proxy": f"{folder}/proxy",
               "set_real_ip_from 172.16.0.0/12;": f"set_real_ip_from {GATEWAY};"}
    changes |= {f"server {name}:8080 ": f"server {address} " for name, address in zip(REPLICAS, replicas)}
    for old, new in changes.items():
        assert text.count(old) == (6 if old.startswith("/tmp") else 1), f"{old!r} stands {text.count(old)} times"
        text = text.replace(old, new)
    return text
