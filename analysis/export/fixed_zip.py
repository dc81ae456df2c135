"""A zip archive that is the same, byte for byte, whenever and wherever it is written from the same parts."""

import shutil
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

_FIRST_TIME = (1980, 1, 1, 0, 0, 0)  # the earliest that the format can tell


class FixedZip(ZipFile):
    """Gives every part the same time and the same origin; parts are deflated, large ones too."""

    def writestr(self, zinfo_or_arcname: str | ZipInfo, data: Any, *_: object, **__: object) -> None:  # noqa: ANN401  # as in ZipFile
        """Add a part from memory under a name."""
        name = zinfo_or_arcname.filename if isinstance(zinfo_or_arcname, ZipInfo) else zinfo_or_arcname
        super().writestr(_part(name), data)

    def write(self, filename: Any, arcname: Any = None, *_: object, **__: object) -> None:  # noqa: ANN401  # as in ZipFile
        """Add a part from a file, piece by piece."""
        part = _part(str(arcname or filename))
        part.file_size = Path(filename).stat().st_size
        with Path(filename).open("rb") as source, self.open(part, "w") as target:
            shutil.copyfileobj(source, target, 1 << 16)


def _part(name: str) -> ZipInfo:
    part = ZipInfo(name, _FIRST_TIME)
    part.compress_type = ZIP_DEFLATED
    part.create_system = 0
    part.external_attr = 0
    return part
