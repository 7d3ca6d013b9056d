"""A neutral sheet of strokes, fills and text in mm, and the parts of which shop papers are made.

Import the room you need, for example `from bodyshop.drawing.items import Sheet`.
"""

__all__: list[str] = []
