"""Everything in notes that a week asks for, as one list: a workbook prints what it makes, `check` makes all of it.

So whatever a workbook refuses or leaves out, `check` has told.
"""

from excerpts.week.orders.boxes import BoxOrders
from excerpts.week.orders.everything import Orders
from excerpts.week.orders.guard import Guard
from excerpts.week.orders.order import FoundError, Order, Trouble
from excerpts.week.orders.pieces import part_of
from excerpts.week.orders.scales import ScaleOrders
from excerpts.week.orders.technique import DrillOrders, StudyOrders

__all__ = [
    "BoxOrders",
    "DrillOrders",
    "FoundError",
    "Guard",
    "Order",
    "Orders",
    "ScaleOrders",
    "StudyOrders",
    "Trouble",
    "part_of",
]
