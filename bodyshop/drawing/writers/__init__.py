"""Writers replay a sheet into one file format each. They add nothing and scale nothing."""

__all__: list[str] = []
