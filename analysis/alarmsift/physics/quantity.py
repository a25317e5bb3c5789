"""What the laws take and give: one number or a numpy array, in SI units."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Quantity = float | NDArray[np.float64]
"""A number or an array of any shape; arguments of one law broadcast against each other."""
