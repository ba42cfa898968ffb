"""Set the project up and run it: one command, nothing to activate.

    python3 run.py demo      the main job on the demo contract; the last line names the page
    python3 run.py tests     every check and every test; the last line is the tests' own summary
    python3 run.py lint      the checks without the tests
    python3 run.py pytest    the tests without the checks

On Windows: py run.py demo. What follows the first word is handed on: "run.py tests -k grubbs",
"run.py demo --output my-folder".

The first run makes a virtual environment in .venv from the lock (requirements.txt, requirements-test.txt; every
file checked by its hash, wheels only). An interrupted set-up is done again from the start.

This file uses the standard library only, and only syntax that old Pythons can read, so that a Python too old for
the project gets a sentence and not a syntax error. That is why types are comments here and texts are put together
by hand.
"""

from __future__ import print_function

import hashlib
import json
import os
import shutil
import subprocess
import sys
import time

ROOT = os.path.dirname(os.path.abspath(__file__))
VENV = os.path.join(ROOT, ".venv")
OURS = os.path.join(VENV, "made-by-run-py.txt")
STAMP = os.path.join(VENV, "set-up-complete.json")
LOCKS = [("run", "requirements.txt"), ("tests", "requirements-test.txt")]

OLDEST = (3, 11)

DEMO = os.path.join("data", "demo", "repair-contract")
DEMO_OUTPUT = os.path.join("reports", "demo-run")
DEMO_RECORD = os.path.join("reports", ".demo-run.json")


class CannotRun(Exception):
    """Something that the person at the keyboard can mend; the text says what and how."""


def demo(arguments):
    # type: (list[str]) -> int
    """Assess the demo contract; print the name of the page last."""
    output = named_output(arguments)
    named = output is not None
    if output is None:
        output = demo_folder()
        arguments = ["--output", output] + arguments
    command = [
        script("adhesion-stats"),
        "assess",
        os.path.join(DEMO, "readings.csv"),
        "--specification",
        os.path.join(DEMO, "specification.toml"),
    ]
    code = call(command + arguments)
    if code == 0:
        if not named:
            remember_demo(output)
        print("")
        print("Open this page in a browser:")
        print(os.path.join(output, "assessment.html"))
    return code


def tests(arguments):
    # type: (list[str]) -> int
    """Every check, then every test; all of them run even if one fails."""
    failed = run_checks()
    code = run_pytest(["-n", "auto", "--dist", "worksteal"] + arguments)
    if failed:
        print("The tests have run; these checks failed before them: " + ", ".join(failed) + ".", file=sys.stderr)
    return code or len(failed)


def lint(arguments):
    # type: (list[str]) -> int
    """Run the checks without the tests."""
    if arguments:
        raise CannotRun("run.py lint takes no further words; it got: " + " ".join(arguments))
    return len(run_checks())


def run_checks():
    # type: () -> list[str]
    """Style, format, types and import contracts; return the names of those that failed."""
    checks = [
        ("ruff check", [script("ruff"), "check", "--quiet", "."]),
        ("ruff format", [script("ruff"), "format", "--check", "."]),
        ("mypy", [script("python"), "-m", "mypy", "--no-error-summary"]),
        ("lint-imports", [script("lint-imports"), "--no-logo"]),
    ]
    failed = []
    for name, command in checks:
        start = time.time()
        process = subprocess.Popen(
            command, cwd=ROOT, env=environment(), stdout=subprocess.PIPE, stderr=subprocess.STDOUT
        )
        output = process.communicate()[0].decode("utf-8", "replace")
        ok = process.returncode == 0
        say("%-12s %s  %.1f s" % (name, "passed" if ok else "FAILED", time.time() - start))
        if not ok:
            failed.append(name)
            print(output, flush=True)
    return failed


def run_pytest(arguments):
    # type: (list[str]) -> int
    """Run pytest with the words that follow the command."""
    return call([script("python"), "-m", "pytest"] + arguments)


# ------------------------------------------------------------------------------------------ the demo's folder


def named_output(arguments):
    # type: (list[str]) -> str | None
    """Return the folder given with --output, or None."""
    for index, word in enumerate(arguments):
        if word == "--output" and index + 1 < len(arguments):
            return arguments[index + 1]
        if word.startswith("--output="):
            return word[len("--output=") :]
    return None


def demo_folder():
    # type: () -> str
    """Return a free folder for the demo; remove an earlier one only if it is unchanged since the demo made it."""
    if not os.path.lexists(os.path.join(ROOT, DEMO_OUTPUT)):
        return DEMO_OUTPUT
    if contents(DEMO_OUTPUT) == remembered_demo():
        shutil.rmtree(os.path.join(ROOT, DEMO_OUTPUT))
        return DEMO_OUTPUT
    number = 2
    while os.path.lexists(os.path.join(ROOT, "%s-%d" % (DEMO_OUTPUT, number))):
        number += 1
    free = "%s-%d" % (DEMO_OUTPUT, number)
    say("%s has been changed since the demo wrote it and stays as it is; this run goes to %s." % (DEMO_OUTPUT, free))
    return free


def remember_demo(output):
    # type: (str) -> None
    """Write down what the demo made, so that a later demo knows its own folder again."""
    if output == DEMO_OUTPUT:
        with open(os.path.join(ROOT, DEMO_RECORD), "w") as record:
            json.dump(contents(output), record, indent=1, sort_keys=True)


def remembered_demo():
    # type: () -> object
    """Return the files and hashes that the last demo wrote; None where there is no such record."""
    try:
        with open(os.path.join(ROOT, DEMO_RECORD)) as record:
            return json.load(record)
    except (OSError, ValueError):
        return None


def contents(folder):
    # type: (str) -> dict[str, str]
    """Return {file: SHA-256} of everything below a folder; links and empty folders appear too."""
    found = {}
    top = os.path.join(ROOT, folder)
    for path, folders, files in os.walk(top):
        for name in files + folders:
            full = os.path.join(path, name)
            key = os.path.relpath(full, top).replace(os.sep, "/")
            if os.path.islink(full):
                found[key] = "link"
            elif os.path.isdir(full):
                found[key] = "folder"
            else:
                found[key] = digest(full)
    return found


# ----------------------------------------------------------------------------------------------- the set-up


def set_up(level):
    # type: (str) -> None
    """Make .venv from the lock unless it is there already."""
    wanted = fingerprints()
    done = read_stamp()
    if done.get(level) == wanted[level]:
        return
    start = time.time()
    # The test lock holds the run lock, so tests are added to a run environment that is up to date. Anything else
    # (another lock, another Python, a moved folder, an interrupted set-up) starts from nothing.
    adding = level == "tests" and done.get("run") == wanted["run"] and "tests" not in done
    say("Setting up .venv with Python %d.%d (this happens once and takes about a minute)." % sys.version_info[:2])
    if not adding:
        make_venv()
    elif os.path.exists(STAMP):
        os.remove(STAMP)
    pip = find_pip()
    lock = dict(LOCKS)[level]
    say("Installing the locked packages from %s ..." % lock)
    install(pip, ["--require-hashes", "--only-binary", ":all:", "-r", os.path.join(ROOT, lock)])
    say("Installing the project itself ...")
    install(pip, ["--no-index", "--no-deps", "--no-build-isolation", "-e", ROOT])
    stamp = {"run": wanted["run"]}
    if level == "tests":
        stamp["tests"] = wanted["tests"]
    with open(STAMP, "w") as handle:
        json.dump(stamp, handle, indent=1, sort_keys=True)
    say("Set up in %.0f s." % (time.time() - start))


def make_venv():
    # type: () -> None
    """Make an empty virtual environment; never touch a .venv that this script did not make."""
    if os.path.lexists(VENV):
        if not os.path.exists(OURS):
            raise CannotRun(
                "There is a .venv in %s that this script did not make, so it is left alone. "
                "Rename or remove it, then run this again." % ROOT
            )
        shutil.rmtree(VENV)
    os.mkdir(VENV)
    with open(OURS, "w") as handle:
        handle.write("run.py made this folder and may remove it and make it again.\n")
    try:
        import venv  # Debian's bare python3 may lack it, and that gets a sentence
    except ImportError:
        raise CannotRun(no_installer())  # noqa: B904 - the missing module is the message
    venv.EnvBuilder(with_pip=False, symlinks=os.name != "nt").create(VENV)


def find_pip():
    # type: () -> list[str]
    """Return the words that start a pip which installs into .venv."""
    python = script("python")
    if quiet([python, "-m", "pip", "--version"]):
        return [python, "-m", "pip"]
    say("Preparing pip ...")
    if quiet([python, "-m", "ensurepip", "--default-pip"]):
        return [python, "-m", "pip"]
    # The pip of this Python can install into another environment since pip 22.3.
    host = [sys.executable, "-m", "pip", "--python", python]
    if quiet(host + ["--version"]):
        return host
    raise CannotRun(no_installer())


def no_installer():
    # type: () -> str
    """Say which package brings what is missing."""
    return (
        "This Python (%s) can neither make a virtual environment with pip (module ensurepip) nor has it a pip of "
        "version 22.3 or newer. On Debian and Ubuntu: apt install python3-venv; elsewhere: install Python from "
        "python.org or your package manager, with pip. Then run this again." % sys.executable
    )


def install(pip, words):
    # type: (list[str], list[str]) -> None
    """Run pip install quietly; stop with its output where it fails."""
    command = pip + ["install", "--quiet", "--disable-pip-version-check", "--no-input", "--no-user"] + words
    process = subprocess.Popen(command, cwd=ROOT, env=environment(), stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    output = process.communicate()[0].decode("utf-8", "replace")
    if process.returncode != 0:
        raise CannotRun(
            "pip could not install. What it said:\n\n%s\nIf a package index could not be reached, see to the "
            "network and run this again; the set-up starts afresh." % output
        )


def fingerprints():
    # type: () -> dict[str, str]
    """Return what each level of the set-up is made from: Python, place, project file, and the locks up to it."""
    text = "\n".join([sys.version, ROOT, digest(os.path.join(ROOT, "pyproject.toml"))])
    result = {}
    for level, lock in LOCKS:
        text += "\n" + digest(os.path.join(ROOT, lock))
        result[level] = hashlib.sha256(text.encode("utf-8")).hexdigest()
    return result


def read_stamp():
    # type: () -> dict[str, str]
    """Return the fingerprints of a finished set-up; empty where it is unfinished or missing."""
    try:
        with open(STAMP) as handle:
            stamp = json.load(handle)
    except (OSError, ValueError):
        return {}
    return stamp if isinstance(stamp, dict) and os.path.exists(script("python")) else {}


def script(name):
    # type: (str) -> str
    """Return the path of a command in .venv."""
    if os.name == "nt":
        return os.path.join(VENV, "Scripts", name + ".exe")
    return os.path.join(VENV, "bin", name)


# ------------------------------------------------------------------------------------------------ small things


def environment():
    # type: () -> dict[str, str]
    """Return the variables for what is started: nothing from outside may change which modules are loaded."""
    variables = dict(os.environ)
    for name in ("PYTHONHOME", "PYTHONPATH", "PYTHONSTARTUP", "PYTHONDONTWRITEBYTECODE", "__PYVENV_LAUNCHER__"):
        variables.pop(name, None)
    variables["PYTHONUTF8"] = "1"
    variables["PYTHONNOUSERSITE"] = "1"
    return variables


def call(command):
    # type: (list[str]) -> int
    """Run a command in the project's folder, its output straight to the person; return its exit code."""
    sys.stdout.flush()
    return subprocess.call(command, cwd=ROOT, env=environment())


def quiet(command):
    # type: (list[str]) -> bool
    """Run a command without output; say whether it went well."""
    with open(os.devnull, "w") as nowhere:
        return subprocess.call(command, cwd=ROOT, env=environment(), stdout=nowhere, stderr=nowhere) == 0


def digest(path):
    # type: (str) -> str
    """Return the SHA-256 of a file."""
    with open(path, "rb") as handle:
        return hashlib.sha256(handle.read()).hexdigest()


def say(text):
    # type: (str) -> None
    """Print a line of progress at once."""
    print(text, flush=True)


COMMANDS = {"demo": (demo, "run"), "tests": (tests, "tests"), "lint": (lint, "tests"), "pytest": (run_pytest, "tests")}


def main(words):
    # type: (list[str]) -> int
    """Run one command; return the exit code."""
    if sys.version_info[:2] < OLDEST:
        raise CannotRun(
            "adhesion-stats needs Python %s or newer; this is Python %s (%s)."
            % (".".join(map(str, OLDEST)), ".".join(map(str, sys.version_info[:2])), sys.executable)
        )
    if not words or words[0] in ("-h", "--help"):
        print(__doc__.strip())
        return 0 if words else 2
    if words[0] not in COMMANDS:
        raise CannotRun("run.py knows %s; it got: %s" % (", ".join(sorted(COMMANDS)), words[0]))
    function, level = COMMANDS[words[0]]
    set_up(level)
    return function(words[1:])


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except CannotRun as problem:
        sys.stderr.write("%s\n" % problem)
        sys.exit(2)
    except KeyboardInterrupt:
        sys.stderr.write("\nStopped. Run the same command again to go on.\n")
        sys.exit(130)
