"""How a mover and the cores beside it are taken: as designed, or a little changed."""

from coilgen.frozen import dataclass


@dataclass(frozen=True, kw_only=True)
class Setting:
    """lifted: m by which every gap of the mover is wider. plates: whether iron plates are there. strength: of
    the magnets, over the typical one. permeability, saturation: of the cores, likewise. rough: cores on cells
    about twice as wide. cores: whether there are any in the coils."""

    lifted: float = 0.0
    plates: bool = True
    strength: float = 1.0
    permeability: float = 1.0
    saturation: float = 1.0
    rough: bool = False
    cores: bool = True


DESIGNED = Setting()
BARE = Setting(cores=False)
