"""The library loads with msgspec alone: no clock, no HTTP, no database, no Pint, no NumPy."""

import subprocess
import sys

FORBIDDEN = {
    "asyncio",
    "cryptography",
    "httpx",
    "litestar",
    "logging",
    "numpy",
    "pint",
    "random",
    "socket",
    "sqlalchemy",
    "sqlite3",
    "time",
}
LOADED_BY_PYTHON_ITSELF = {"time"}


def test_importing_the_library_loads_no_outside() -> None:
    program = (
        "import sys; import libexchange.plan.planning, libexchange.record, libexchange.job.fold, "
        "libexchange.calculations, libexchange.anonymise; print(' '.join(sys.modules))"
    )
    command = [sys.executable, "-S", "-c", f"import sys; sys.path[:0] = {sys.path!r}; {program}"]
    loaded = subprocess.run(command, capture_output=True, text=True, check=True)  # noqa: S603 -- own interpreter

    modules = {name.split(".")[0] for name in loaded.stdout.split()}
    assert modules & (FORBIDDEN - LOADED_BY_PYTHON_ITSELF) == set()
