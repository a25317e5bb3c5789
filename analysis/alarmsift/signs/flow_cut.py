"""Flow cut: did too little flow reach the detector to bring this point's own air?

Old air is the line's doing only when the flow is cut below about half; a line of twice its
resistance still delivers its own air, only later.

Columns: flow. Measure: flow at the raise as a share of the line's clean flow, middle of three
visits. Clearly present down to 0.25, clearly absent from 0.72 up, undecided around one half; no
data where no flow is logged. Fooled by a flow meter that sticks.
Source: plug flow: transit time = volume / flow.
"""

from alarmsift.evidence.shape import row_nanmedian
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the share of the clean flow at the raise."""
    flow = row_nanmedian(w.flow_share[:, max(w.at - 1, 0) : w.at + 2])
    return SignReading(graded(flow, absent=0.72, present=0.25), flow)


SIGN = Sign(
    key="flow_cut",
    title="Flow at the raise",
    needs=("flow",),
    family="line",
    unit="share of clean flow",
    applies="alarm",
    read=read,
    weights=(
        Weight("blocked", 20.5, 0, "old air stays only where the flow is cut"),
        Weight("water", 2, 0, "water takes the flow; its jumps need no cut flow"),
    ),
    present="flow was down to {m:.0%} of clean",
    absent="flow was {m:.0%} of clean: the line brought its own air",
)
