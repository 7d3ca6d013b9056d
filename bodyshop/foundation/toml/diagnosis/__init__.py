"""Why a text is not TOML, from what stands round the error."""

from bodyshop.foundation.toml.diagnosis.explanation import diagnose

__all__ = ["diagnose"]
