"""The trial book: what was measured and decided, kept so that nothing noted is ever lost or changed.

    with Book.open("class.trials") as book:
        entry = book.add(MassReading("Kestrel", WeighingStage.BLANK, 341.2))
        for each in book.records(TunnelReading, car="Kestrel"):
            print(each.at, each.record.net_drag_n)

A book is one file. Records are added, and never altered: a correction is a record of its own that takes the
place of the old one and says why. Nothing is averaged away.
"""

__all__: list[str] = []
