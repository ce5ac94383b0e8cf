#!/usr/bin/env python3
"""The generated client at work on the running program, on both engines: tests/fuzz/client.py PROGRAM SCRIPT"""
import os
import subprocess
import sys

import program as shipped

PROGRAM, SCRIPT = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2])
EMAIL = "owner@example.com"
failed = 0
for engine in ("sqlite", "postgres"):
    with shipped.folder() as folder, shipped.database(engine, folder) as address:
        shipped.found_shop(PROGRAM, address, folder, "Plain Studio", EMAIL)
        with shipped.served(PROGRAM, address, folder) as (base, _log):
            print(f"--- {engine}", flush=True)
            failed += subprocess.run(["node", SCRIPT, base, EMAIL, shipped.PASSWORD], timeout=120).returncode != 0
sys.exit(failed > 0)
