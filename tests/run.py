"""Every check and every test, with its own set-up: ``python tests/run.py``.

Needs Python 3.11 or later with pip, and nothing else. Makes a virtual environment in a temporary
folder, installs alarmsift with everything its tests use, and runs ruff, lint-imports and mypy.
Beside them it installs alarmsift as on a ship without a network, from a folder of wheels. Then it
runs pytest.
``--venv DIR`` keeps the environment there and uses it again.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import venv
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
OLDEST = (3, 11)
CHECKS = (
    ("ruff", "check", "."),
    ("ruff", "format", "--check", "."),
    ("lint-imports",),
    ("mypy",),
)
# A file's tests stay together, for what they share is made once a process.
TESTS = ("pytest", "-n", "2", "--dist", "loadfile")
TESTS += ("--cov=alarmsift", "--cov-report=", "--cov-fail-under=85")
# The tests fill both cores already; more threads for small matrices only wait for each other.
SETTINGS = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
if sys.version_info >= (3, 12):
    SETTINGS["COVERAGE_CORE"] = "sysmon"  # costs next to nothing; tracing costs half again


PIP = (sys.executable, "-m", "pip", "--disable-pip-version-check")


def empty(place: Path) -> tuple[Path, list[str]]:
    """Make an environment or find it; return its folder of programs and the words for its pip."""
    programs = place / ("Scripts" if os.name == "nt" else "bin")
    python = programs / ("python.exe" if os.name == "nt" else "python")
    if not python.exists():
        # Some systems part pip from venv, so the environment is filled by the pip out here.
        venv.EnvBuilder(with_pip=False, symlinks=os.name != "nt").create(place)
    return programs, [*PIP, "--python", str(python)]


def make(place: Path) -> Path:
    """Make or refresh an environment with alarmsift in it; return its folder of programs."""
    programs, pip = empty(place)
    # What is imported is compiled then; to compile all that is installed takes longer than that.
    install = [*pip, "install", "-q", "--no-compile", "-e", f"{ROOT}[dev,refdata]"]
    done = subprocess.run(install, check=False)
    if done.returncode:
        raise SystemExit("The set-up failed; pip says why above (it needs the network, and 22.3+).")
    return programs


def without_network(place: Path) -> bool:
    """Gather wheels, install from their folder alone, diagnose; tell whether all of it worked."""
    print("== install without a network", flush=True)
    wheels = place / "wheels"
    programs, pip = empty(place / "ship")
    # Nothing of this machine's own settings may help, and a proxy that is not there stops the rest.
    alone = {name: value for name, value in os.environ.items() if not name.startswith("PIP_")}
    alone |= {"PIP_CONFIG_FILE": os.devnull, "https_proxy": "http://127.0.0.1:9"}
    install = [*pip, "install", "-q", "--no-compile", "--no-index", "--find-links", str(wheels)]
    tool = str(programs / "alarmsift")
    steps: tuple[tuple[list[str], dict[str, str] | None], ...] = (
        ([*PIP, "wheel", "-q", "-w", str(wheels), str(ROOT)], None),
        ([*install, "alarmsift"], alone),
        ([tool, "simulate", "logs", "--days", "2"], alone),
        ([tool, "diagnose", "logs", "--out", "report"], alone),
    )
    return all(
        subprocess.run(words, check=False, cwd=place, env=way, stdout=subprocess.DEVNULL).returncode
        == 0
        for words, way in steps
    )


def run(programs: Path, words: tuple[str, ...]) -> bool:
    """Run one check in the environment; tell whether it passed."""
    print(f"== {' '.join(words)}", flush=True)
    way = {**os.environ, **SETTINGS, "PATH": f"{programs}{os.pathsep}{os.environ.get('PATH', '')}"}
    way.pop("PYTHONPATH", None)
    done = subprocess.run([str(programs / words[0]), *words[1:]], check=False, cwd=ROOT, env=way)
    return done.returncode == 0


def main() -> int:
    """Set up, run everything, return 0 when all of it passed."""
    if sys.version_info < OLDEST:
        print(f"Python 3.11 or later is needed; this is {sys.version.split()[0]}.")
        return 2
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--venv", type=Path, metavar="DIR", help="keep the environment there")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as fresh:
        print("== set-up", flush=True)
        programs = make(options.venv.resolve() if options.venv else Path(fresh) / "venv")
        # The checks need one core each; the tests want both for themselves.
        with ThreadPoolExecutor(1) as beside:
            alone = beside.submit(without_network, Path(fresh))
            failed = [words[0] for words in CHECKS if not run(programs, words)]
        if not alone.result():
            failed.append("install without a network")
        tests = run(programs, TESTS)
    if failed:
        print(f"Failed: {', '.join(failed)}")
    return 0 if tests and not failed else 1


if __name__ == "__main__":
    raise SystemExit(main())
