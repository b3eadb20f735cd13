#!/usr/bin/env python3
"""Set up once, then run: `python3 run.py demo [DIR]` the main job, `python3 run.py test` the tests.

Any other word goes to the program: `python3 run.py runs SITE`. Only the standard library is used here.
The packages of requirements/run.txt go into .venv; those of dev.txt are added for `test` alone. `test --all`
takes the slow tests too, `test --system` first installs the system parts that tests use; more words go to pytest.
"""

import contextlib
import glob
import hashlib
import json
import os
import pathlib
import shutil
import subprocess
import sys

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


@contextlib.contextmanager
def alone():
    """Two that start at once set up one after the other (not kept apart on Windows, which has no fcntl)."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    with (ROOT / ".venv.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def installer(new):
    """The command that installs into .venv, and .venv itself when it must be made anew."""
    if new and VENV.exists():
        for old in (stamp(True), stamp(False)):  # first, so that a half-removed folder is never taken for ready
            old.unlink(missing_ok=True)
        shutil.rmtree(VENV)
    uv = shutil.which("uv")
    if uv and answers([uv, "--version"]):
        if new:
            subprocess.check_call([uv, "venv", "-q", "--python", BASE, str(VENV)], stdout=sys.stderr)
        return [uv, "pip", "install", "-q", "--python", str(BIN / "python")]
    if not answers([BASE, "-m", "pip", "--version"]) and not answers([BASE, "-c", "import ensurepip, venv"]):
        stop("neither uv nor pip is here; on Debian type `apt-get install python3-venv` as root and repeat.")
    if new:
        with_pip = answers([BASE, "-c", "import ensurepip"])  # a plain Debian has pip without ensurepip
        say("setting up .venv with pip, about a minute ...")
        flags = [] if with_pip else ["--without-pip"]
        subprocess.check_call([BASE, "-m", "venv", *flags, str(VENV)], stdout=sys.stderr)
    inside = [str(BIN / "python"), "-m", "pip"]
    pip = inside if answers([*inside, "--version"]) else [BASE, "-m", "pip", "--python", str(BIN / "python")]
    return [*pip, "install", "-q", "--disable-pip-version-check"]


def set_up(dev):
    if ready(False) and (not dev or ready(True)):
        return
    with alone():
        if not ready(False):
            say("setting up .venv (once) ...")
            install = installer(new=True)
            subprocess.check_call([*install, "--require-hashes", "-r", str(RUN)], stdout=sys.stderr)
            in_place = ["--no-deps", "--no-build-isolation", "-e", str(ROOT)]
            subprocess.check_call([*install, *in_place], stdout=sys.stderr)
            stamp(False).write_text(wanted(False))
        if dev and not ready(True):
            say("adding the tests' packages (once) ...")
            install = installer(new=False)
            subprocess.check_call([*install, "--require-hashes", "-r", str(DEV)], stdout=sys.stderr)
            stamp(True).write_text(wanted(True))


def missing_parts():
    """Packages of the system parts that some test uses and that are not here."""
    tests = "\n".join(test.read_text("utf-8") for test in (ROOT / "tests").rglob("test_*.py"))
    here = lambda program: shutil.which(program) or glob.glob("/usr/lib/postgresql/*/bin/" + program)  # noqa: E731
    return sorted({package for program, package, fixture in PARTS if fixture in tests and not here(program)})


def system_parts(install):
    need = missing_parts()
    if need and install and shutil.which("apt-get") and os.geteuid() == 0:
        say("installing " + ", ".join(need) + " ...")
        quiet = {"stdin": subprocess.DEVNULL, "stdout": subprocess.DEVNULL}
        env = dict(os.environ, DEBIAN_FRONTEND="noninteractive")
        subprocess.call(["apt-get", "-qq", "update"], env=env, **quiet)
        # A service that may not start here makes this fail although the programs are in place: so look again.
        subprocess.call(["apt-get", "-qq", "install", "-y", "--no-install-recommends", *need], env=env, **quiet)
        need = missing_parts()
    if need:
        say("not on this machine: " + ", ".join(need) + "; as root, `run.py test --system` installs them.")


def main():
    right_python()
    job, words = (sys.argv[1:2] or ["--help"])[0], sys.argv[2:]
    os.environ["UV_PYTHON_DOWNLOADS"] = "never"
    try:
        set_up(dev=job == "test")
    except (subprocess.CalledProcessError, OSError) as fault:
        stop("setting up .venv did not work (%s); the reason is above; repeat the command to start afresh." % fault)
    if job != "test":
        become([str(BIN / "pullstring"), job, *words])
    system_parts(install="--system" in words or os.environ.get("CI") == "true")
    cover = ["--cov", "--cov-report=term"] if "--all" in words else []
    os.chdir(str(ROOT))
    become([str(BIN / "python"), "-m", "pytest", *cover, *[word for word in words if word != "--system"]])


if __name__ == "__main__":
    main()
