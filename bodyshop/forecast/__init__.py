"""Predictions for people: a race and its levers as a page of the terminal, as JSON and on paper.

From the top: `making` goes from a design, what was asked for and a book to a `Forecast` or an `Advice`
(`model`); `pages`, `json_file` and `paper` (with `chart`) print them in the words of `words`; `schemas` says
where the JSON Schemas are.
"""

__all__: list[str] = []
