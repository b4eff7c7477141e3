"""Builds the word catalogue: every ``*.po`` of a language becomes one ``ebbwell.mo``.

``python -m tools.catalogue`` writes it; ``--check`` only says whether it is fresh.
"""

from __future__ import annotations

import io
import sys
from datetime import UTC, datetime
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

LOCALE = Path(__file__).parent.parent / "src/ebbwell/core/locale"

WRITTEN = datetime(2026, 1, 1, tzinfo=UTC)
"""The date in the head of each file; a fixed one, so that the same words give the same bytes on any day."""


def compiled(language: str) -> bytes:
    """The bytes of the machine form of a language. Raises ValueError for a key given twice."""
    merged = Catalog(locale=language, creation_date=WRITTEN, revision_date=WRITTEN)
    for path in sorted((LOCALE / language).glob("*.po")):
        with path.open("rb") as file:
            for message in read_po(file, locale=language, abort_invalid=True):
                if not message.id:
                    continue
                if message.id in merged:
                    raise ValueError(f"{path.name}: {message.id} is worded twice")
                merged.add(message.id, message.string)
    out = io.BytesIO()
    write_mo(out, merged)
    return out.getvalue()


def main() -> int:
    """Write or check every language; 1 when a check finds a stale file."""
    stale = []
    for folder in sorted(p for p in LOCALE.iterdir() if p.is_dir()):
        target = folder / "LC_MESSAGES/ebbwell.mo"
        data = compiled(folder.name)
        if "--check" in sys.argv:
            if not target.exists() or target.read_bytes() != data:
                stale.append(str(target))
        else:
            target.parent.mkdir(exist_ok=True)
            target.write_bytes(data)
    for name in stale:
        print(f"stale: {name}; run `make catalogue`")
    return 1 if stale else 0


if __name__ == "__main__":
    sys.exit(main())
