"""Which points belong together, for the measurements of this room (see timeline.kin)."""

from alarmsift.timeline.kin import kin_of, neighbours_of

__all__ = ["kin_of", "neighbours_of"]
