"""Whether units go in together, where, and why not: the questions others ask.

rooms        what has to be arranged, as numbers; what holds of a good arrangement
distances    positions held apart
search       the complete search, and hard for what it cannot settle in time
bounds       sums that refuse a room before it is searched
reduced      a room with fewer units; a minimal set that cannot go in together
wishes       places wished for or preferred, as conditions
open_boxes   what is left open
better       a good arrangement rather than any
answers      layouts and reasons
"""

from __future__ import annotations

from configurator.arrangement.answers import FitReason, lay_out, not_together, room_reason

__all__ = ["FitReason", "lay_out", "not_together", "room_reason"]
