#!/usr/bin/env python3
"""Set up once, then run: `python3 run.py demo [DIR]` the main job, `python3 run.py test` the tests.

Any other word goes to the program: `python3 run.py runs SITE`. Only the standard library is used here.
The packages of requirements/run.txt go into .venv; those of dev.txt are added for `test` alone. `test --all`
takes the slow tests too, `test --system` first installs the system parts that tests use; more words go to pytest.
"""

import glob
import hashlib
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys

try:
    import fcntl
except ImportError:  # Windows: two that start at once are not kept apart
    fcntl = None

FIRST, LAST = (3, 11), (3, 15)  # Pythons for which every pinned package has a wheel
ROOT = pathlib.Path(__file__).resolve().parent
VENV = ROOT / ".venv"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
RUN, DEV = ROOT / "requirements" / "run.txt", ROOT / "requirements" / "dev.txt"
BASE = getattr(sys, "_base_executable", None) or sys.executable  # not the one in .venv, which may be replaced
PARTS = (  # program, Debian package, fixture of tests/conftest.py that needs it
    ("chromium", "chromium", "chromium_path"),
    ("pdftoppm", "poppler-utils", "pdftoppm"),
    ("pdftotext", "poppler-utils", "pdftotext"),
    ("certutil", "libnss3-tools", "certutil"),
    ("initdb", "postgresql", "postgres"),
)


def say(words):
    print(words, file=sys.stderr, flush=True)


def stop(sentence):
    say("run.py: " + sentence)
    sys.exit(2)


def become(command):
    """Give this process over to another program; its exit code is ours."""
    sys.stdout.flush()
    if os.name == "nt":
        sys.exit(subprocess.call(command))
    os.execv(command[0], command)


def right_python():
    """Go on with a Python inside the range, or say that there is none."""
    if FIRST <= sys.version_info[:2] <= LAST:
        return
    for minor in range(LAST[1], FIRST[1] - 1, -1):
        other = shutil.which("python3.%d" % minor)
        if other and answers([other, "-c", "import sys; sys.exit(sys.version_info[:2] != (3, %d))" % minor]):
            become([other, str(ROOT / "run.py")] + sys.argv[1:])
    stop(
        "this is Python %d.%d, but Python %d.%d to %d.%d is needed and none is on the PATH; install one and repeat."
        % (sys.version_info[:2] + FIRST + LAST)
    )


def answers(command):
    return subprocess.call(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) == 0


def wanted(dev):
    """What the stamp must say: everything on which the installed packages depend."""
    import tomllib  # only a Python inside the range has it

    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    parts = [project["project"], project["build-system"], project["tool"]["hatch"]]
    text = [sys.version, BASE, str(ROOT), json.dumps(parts), RUN.read_text(), DEV.read_text() if dev else ""]
    return hashlib.sha256("\0".join(text).encode()).hexdigest()


def stamp(dev):
    return VENV / ("stamp-dev" if dev else "stamp-run")


def ready(dev):
    return stamp(dev).exists() and stamp(dev).read_text() == wanted(dev)


def install(command):
    subprocess.check_call(command, stdout=sys.stderr)


def new_venv(uv):
    for old in (stamp(True), stamp(False)):  # first, so that a half-removed folder is never taken for ready
        if old.exists():
            old.unlink()
    shutil.rmtree(str(VENV), ignore_errors=True)
    if uv:
        return install([uv, "venv", "-q", "--python", BASE, str(VENV)])
    if answers([BASE, "-m", "venv", str(VENV)]):
        return None
    if not answers([BASE, "-m", "pip", "--version"]):
        stop("this Python has neither uv nor pip; on Debian type `apt-get install python3-venv` as root and repeat.")
    shutil.rmtree(str(VENV), ignore_errors=True)  # a plain Debian has pip, but nothing to put it into a new .venv
    return install([BASE, "-m", "venv", "--without-pip", str(VENV)])


def warm(python):
    """Compile what works out signal now and keep it; where there is no compiler, or it fails, numpy does the work."""
    say("making the kernels of signal ready, once; about a minute ...")
    subprocess.call([python, "-m", "pullstring.radio.warming"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def set_up(dev, uv):
    """Make .venv ready; the stamp is written last, so what was interrupted is done again."""
    if ready(False) and (not dev or ready(True)):
        return
    with (ROOT / ".venv.lock").open("w") as lock:
        if fcntl:
            fcntl.flock(lock, fcntl.LOCK_EX)  # of two that start at once, the second waits and finds it done
        python = str(BIN / "python")
        if not ready(False):
            say("setting up .venv, once; " + ("a few seconds ..." if uv else "with pip about a minute ..."))
            new_venv(uv)
        pip = [python, "-m", "pip"] if answers([python, "-m", "pip", "-V"]) else [BASE, "-m", "pip", "--python", python]
        add = [uv, "pip", "install", "-q", "--python", python] if uv else [*pip, "install", "-q"]
        if not ready(False):
            install([*add, "--require-hashes", "-r", str(RUN)])
            install([*add, "--no-deps", "--no-build-isolation", "-e", str(ROOT)])
            warm(python)
            stamp(False).write_text(wanted(False))
        if dev and not ready(True):
            say("adding the tests' packages, once ...")
            install([*add, "--require-hashes", "-r", str(DEV)])
            stamp(True).write_text(wanted(True))


def set_up_somehow(dev):
    """With uv where it works (it keeps its own certificates and settings), else with pip."""
    uv = shutil.which("uv")
    if uv and answers([uv, "--version"]):
        try:
            return set_up(dev, uv)
        except subprocess.CalledProcessError:
            say("uv did not manage it, the reason is above; trying pip ...")
    return set_up(dev, None)


def missing_parts():
    """Debian packages of the system parts that some test asks for and that are not here."""
    text = "\n".join(file.read_text("utf-8") for file in (ROOT / "tests").glob("*/**/*.py"))
    asked = [part for part in PARTS if re.search(r"\bdef \w+\([^)]*\b" + part[2] + r"\b", text)]
    found = [part for part in asked if shutil.which(part[0]) or glob.glob("/usr/lib/postgresql/*/bin/" + part[0])]
    return sorted({package for _, package, _ in asked} - {package for _, package, _ in found})


def system_parts(allowed):
    need = missing_parts()
    if need and allowed and shutil.which("apt-get") and os.geteuid() == 0:
        say("installing " + ", ".join(need) + " ...")
        # A service that may not start makes this fail although the programs are in place: so the answer is to look again.
        for words in (["update"], ["install", "-y", "--no-install-recommends", *need]):
            env = dict(os.environ, DEBIAN_FRONTEND="noninteractive")
            subprocess.call(["apt-get", "-qq", *words], env=env, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL)
        need = missing_parts()
    if need:
        say("not on this machine: " + ", ".join(need) + "; as root, `run.py test --system` installs them.")


def main():
    right_python()
    job, words = (sys.argv[1:2] or ["--help"])[0], sys.argv[2:]
    os.environ.update(UV_PYTHON_DOWNLOADS="never", PIP_DISABLE_PIP_VERSION_CHECK="1")
    try:
        set_up_somehow(dev=job == "test")
    except (subprocess.CalledProcessError, OSError) as fault:
        stop("setting up .venv did not work (%s); the reason is above; repeat the command to start afresh." % fault)
    except KeyboardInterrupt:
        sys.exit(130)
    if job != "test":
        become([str(BIN / "pullstring"), job, *words])
    system_parts(allowed="--system" in words or os.environ.get("CI") == "true")
    cover = ["--cov", "--cov-report=term"] if "--all" in words else []
    os.chdir(str(ROOT))
    become([str(BIN / "python"), "-m", "pytest", *cover, *[word for word in words if word != "--system"]])


if __name__ == "__main__":
    main()
