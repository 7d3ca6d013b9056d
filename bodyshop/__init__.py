"""bodyshop: a parametric body designer for wooden CO2 dragsters."""

__version__ = "0.1.0"
