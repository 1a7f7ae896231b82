"""Makes every template and prints a digest of each file, when asked with -v, and one of all.

Run before and after a change that should leave every delivered byte as it was.
"""

import hashlib
import sys

import coilgen
from coilgen.catalogue import templates


def digests() -> dict[str, str]:
    """SHA-256 of every file of every template, by path."""
    return {
        f"{name}/{path}": hashlib.sha256(content).hexdigest()
        for name, text in templates().items()
        for path, content in coilgen.make(coilgen.read_text(text)).files.items()
    }


def main(verbose: bool) -> None:
    """Prints the digest of all, after those of the files when asked."""
    found = digests()
    lines = [f"{digest}  {path}" for path, digest in sorted(found.items())]
    if verbose:
        print("\n".join(lines))
    print(f"{hashlib.sha256(chr(10).join(lines).encode()).hexdigest()}  {len(lines)} files")


if __name__ == "__main__":
    main("-v" in sys.argv[1:])
