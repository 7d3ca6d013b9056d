"""What the records of a trial book mean: figures with intervals, a sentence, the formula and its source.

It calls `physics`, which knows nothing of the book, with what `records.book` holds. From the top:

- `meaning`    everything that the book says of one car, as `Finding`s.
- `prediction_check`  predictions stored before the race, compared with what was measured.
- `classruns`  the class's runs fitted: impulse and puncture; `cars` has the stored fits.
- `measured_priors`   `priors_from_book(book, car)`: what was measured or fitted, to take the place of what
               was assumed; `setups` makes a race ready from it.
- `forecast`   from a design, what was asked for and what a book holds, to a predicted race.
"""

__all__: list[str] = []
