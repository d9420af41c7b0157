"""A fuzzer that follows which code an input reaches: ``python -m tests.hostile.fuzz TARGET``.

    python -m tests.hostile.fuzz workbook-part --seconds 120
    python -m tests.hostile.fuzz every --runs 20000 --seed 7
    python -m tests.hostile.fuzz cell --again crash-4f3a       # one input once more

It ends with status 0 where nothing was found. What was found lies in ``--into`` as ``crash-...``,
``timeout-...`` or ``oom-...``, and is shown. A refusal is no finding; any other exception is, and
so are more than 20 seconds or 1.5 GB for one input. The list of targets is in ``targets.py``.
"""

from __future__ import annotations

import argparse
import hashlib
import sys
import tempfile
import warnings
from pathlib import Path

import atheris

INPUT_SECONDS_MAX = 20
MEMORY_MAX_MB = 2500
INPUT_MAX_BYTES = 400_000
FOLLOWED = ["recondition", "openpyxl", "pypdf"]


def main() -> None:
    """Fuzz one target for a number of seconds or runs."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("target")
    parser.add_argument("--seconds", type=int, default=60)
    parser.add_argument("--runs", type=int, default=-1)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--into", type=Path, help="where findings are laid; else a new folder")
    parser.add_argument("--again", type=Path, help="run this one input and no other")
    parser.add_argument("--history", type=Path, help="a released work history to begin with")
    given = parser.parse_args()
    warnings.simplefilter("ignore")
    if Path("/dev/shm").is_dir():  # noqa: S108 - a file system in memory, where there is one
        tempfile.tempdir = "/dev/shm"  # noqa: S108 - as above
    with atheris.instrument_imports(include=FOLLOWED):
        from tests.hostile import good  # noqa: PLC0415 - followed from here on
        from tests.hostile.targets import ALL  # noqa: PLC0415 - as above
    if given.history:
        good.take_history(given.history)
    target = ALL[given.target]
    if given.again:
        target.run(given.again.read_bytes())
        return
    into = given.into or Path(tempfile.mkdtemp(prefix="fuzz-"))
    corpus = into / "corpus"
    corpus.mkdir(parents=True, exist_ok=True)
    for seed in target.seeds():
        (corpus / hashlib.sha256(seed).hexdigest()[:16]).write_bytes(seed)
    options = {
        "max_total_time": given.seconds,
        "runs": given.runs,
        "seed": given.seed,
        "timeout": INPUT_SECONDS_MAX,
        "rss_limit_mb": MEMORY_MAX_MB,
        "max_len": INPUT_MAX_BYTES,
        "len_control": 0,
        "artifact_prefix": f"{into}/",
        "print_final_stats": 1,
    }
    flags = [f"-{name}={value}" for name, value in options.items()]

    def held(data: bytes) -> None:
        """Keep what ends badly before the fuzzer does: it may not get to it."""
        try:
            target.run(data)
        except BaseException:
            (into / f"crash-{hashlib.sha256(data).hexdigest()[:16]}").write_bytes(data)
            raise

    atheris.Setup([sys.argv[0], *flags, str(corpus)], held)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
