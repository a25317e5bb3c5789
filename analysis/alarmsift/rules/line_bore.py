"""Are the sample lines at least 6 mm wide inside?"""

from alarmsift.evidence.rule import Kept, Rule, Ruling, counted, met, not_decidable, not_met

BORE_MM = 6.0


def check(kept: Kept) -> Ruling:
    """Return whether every line in the table of points is wide enough."""
    points = kept.ship.logs.points.drop_duplicates("point")
    narrow = points[points["bore_mm"] < BORE_MM]
    if len(narrow):
        least = narrow["bore_mm"].min()
        return not_met(narrow["point"].astype(str), f"The narrowest line has {least:g} mm.")
    blank = int(points["bore_mm"].isna().sum())
    if blank or not len(points):
        return not_decidable("The table of points doesn't give the bore of every line.")
    return met(f"{counted(len(points), 'line')}, the narrowest {points['bore_mm'].min():g} mm.")


RULE = Rule(
    key="line_bore",
    title="Sample lines are at least 6 mm wide inside",
    source="IMO MSC.1/Circ.1370, 2.2.3.1",
    check=check,
)
