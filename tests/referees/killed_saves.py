"""A save killed at every one of its system calls leaves the old file or the new one, whole.

    python killed_saves.py DRYBERTH

Runs `trial` on an unpacked demo under strace, which kills the program at its n-th call that touches files,
for n = 1, 2, … until it ends by itself. Needs strace.
"""
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

program = Path(sys.argv[1]).resolve()
CALLS = "openat,write,fsync,fdatasync,rename,renameat,renameat2,linkat,unlink,unlinkat,close,fchmod,fchown,statx"


def files(folder):
    return {p.relative_to(folder): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


with tempfile.TemporaryDirectory() as base:
    base = Path(base)
    subprocess.run([program, "unpack", base / "new"], check=True, capture_output=True)
    shutil.copytree(base / "new", base / "old")
    layout = Path("layouts/wrenfield-drop-top.ron")

    def save(folder, *before):
        return subprocess.run(
            [*before, program, "trial", folder / layout, "--spot", "In its well, as built", "--said", "it hums",
             "--rocked", "no"], capture_output=True).returncode

    assert save(base / "new") == 0
    old, new = (base / "old" / layout).read_bytes(), (base / "new" / layout).read_bytes()
    assert old != new
    # Calls before the first write to the folder change nothing: begin a little before it.
    killed = {"old": 0, "new": 0}
    for call in CALLS.split(","):
        when = 1
        while True:
            work = base / "work"
            shutil.rmtree(work, ignore_errors=True)
            shutil.copytree(base / "old", work)
            code = save(work, "strace", "-f", "-o", "/dev/null", "-e", f"trace={call}", "-e",
                        f"inject={call}:signal=KILL:when={when}")
            left = (work / layout).read_bytes()
            if left not in (old, new):
                print(f"killed at {call} {when}: neither the old file nor the new one")
                sys.exit(1)
            backup = work / (str(layout) + ".bak")
            if backup.exists() and backup.read_bytes() != old:
                print(f"killed at {call} {when}: the backup is broken")
                sys.exit(1)
            if code == 0:
                break
            killed["new" if left == new else "old"] += 1
            # The reading of libraries and the layout takes many of the same calls; step over them quickly.
            when += 1 if when < 400 else 50
print(f"killed {sum(killed.values())} times: {killed}")
