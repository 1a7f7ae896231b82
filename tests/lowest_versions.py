"""Prints pip constraints to the lowest versions that pyproject.toml allows at run time, a line each."""

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).parent.parent


def lowest(requirement):
    """The one version that a requirement such as "numpy>=1.26.0" begins with."""
    name, version = re.fullmatch(r"([a-z-]+)>=([0-9.]+)", requirement).groups()
    return f"{name}=={version}"


def main():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    print("\n".join(lowest(each) for each in project["dependencies"]))


if __name__ == "__main__":
    main()
