#!/usr/bin/env python3
"""A generated client at work on the running program, on both engines: tests/client/run.py PROGRAM COMMAND ARGUMENT …

The command also gets the address of a program without a shop, the code of its first setup, and a picture.
"""
import os
import pathlib
import subprocess
import sys

sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "fuzz"))
import life  # noqa: E402
import program as shipped  # noqa: E402

PROGRAM, COMMAND = os.path.abspath(sys.argv[1]), sys.argv[2:]
failed = 0
for engine in ("sqlite", "postgres"):
    with shipped.folder() as folder, shipped.database(engine, folder) as address:
        picture = pathlib.Path(folder, "bonnet.png")
        picture.write_bytes(life.picture())
        with shipped.unfounded(PROGRAM, address, folder) as (base, code):
            print(f"--- {engine}", flush=True)
            failed += subprocess.run([*COMMAND, base, code, picture], timeout=120).returncode != 0
sys.exit(failed > 0)
