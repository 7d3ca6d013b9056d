"""Why a text is not TOML, told from what stands round the error."""

from bodyshop.source.slips.diagnosis import diagnose

__all__ = ["diagnose"]
