"""What a car is made from, as tables: woods, blanks, hardware, finishes, blades, and the cautions.

Every row has a source and a confidence letter. Import the room you need:
`from bodyshop.car.stock.woods import woods`.
"""

__all__: list[str] = []
