"""One judged result in, one text out: for a terminal, for another program, for a file beside the papers."""

__all__: list[str] = []
