"""Files that look like exports and hold no shots; a ledger must refuse them."""

from __future__ import annotations

_KIOSK = """\
Date;Item;Club price;Guest price;Sold
2026-04-18;Basket of 50 balls;4.50;6.00;31
2026-04-18;Basket of 100 balls;8.00;10.50;22
2026-04-18;Iron water bottle;14.00;16.00;3
2026-04-18;Driver head cover;19.50;22.00;1
2026-04-18;Wedge of cake;3.20;3.20;17
2026-04-18;Tees, pack of 20;2.50;3.00;12
2026-04-18;Glove, left hand;13.00;15.00;4
"""

_BANK = """\
Account statement of Brindlemoor Golf Academy
Booked,Purpose,Amount,Balance
2026-05-02,Range balls,-812.40,10455.10
2026-05-04,Lesson fees,640.00,11095.10
2026-05-06,Mower fuel,-96.75,10998.35
2026-05-07,Carry bag deposit,-150.00,10848.35
2026-05-09,Total of green fees,1730.00,12578.35
"""

_AVERAGES = """\
Season averages of Bram Ostervik
Club,Shots,Average ball speed (mph),Average carry (yd),Spread of carry (yd)
Driver,96,165.4,268.1,9.7
3-wood,41,154.9,240.3,8.8
5-iron,55,133.2,201.6,6.9
7-iron,88,122.8,178.4,5.8
9-iron,52,111.0,152.2,5.1
PW,63,104.4,138.9,4.9
"""

REFUSED: dict[str, str] = {
    "kiosk-2026-04-18.csv": _KIOSK,
    "range-account-may.csv": _BANK,
    "season-averages-bram.csv": _AVERAGES,
}
