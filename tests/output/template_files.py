"""The files of a set of templates, one format at a time."""

from bodyshop.output.papers.templates import TemplateSet

__all__ = ["dxf_of", "pdf_of", "svg_of"]


def pdf_of(made: TemplateSet) -> bytes:
    return made.files("templates", ["pdf"])["templates.pdf"]


def svg_of(made: TemplateSet) -> dict[str, str]:
    return {name: data.decode("utf-8") for name, data in made.files("templates", ["svg"]).items()}


def dxf_of(made: TemplateSet) -> dict[str, bytes]:
    return made.files("templates", ["dxf"])
