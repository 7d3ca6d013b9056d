"""What the records of a trial book mean: figures with intervals, a sentence, the formula and its source.

Above `race` (the physics) and `trials` (the records), which know nothing of each other. From the top:

- `meaning`    everything that the book says of one car, as `Finding`s; `text` and `json_file` print them.
- `frozen`     predictions put into the book before the race; `held` compares them with what was measured.
- `classruns`  the class's runs fitted: impulse and puncture; `fits` keeps the fit in the book.
- `known`      `priors_from_book(book, car) -> Known`: what was measured or fitted, to take the place of what
               was taken for granted; `setups` makes a race ready from it.
"""

__all__: list[str] = []
