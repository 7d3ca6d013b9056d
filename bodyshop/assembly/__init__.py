"""Bearings, axles, washers, wheels, screw eyes and cartridge put to the body."""

from bodyshop.assembly.car import Car
from bodyshop.assembly.mass import WIDE, Mass, MassItem, Part, wood_density
from bodyshop.assembly.stack import AxleStack
from bodyshop.assembly.track import Track

__all__ = ["WIDE", "AxleStack", "Car", "Mass", "MassItem", "Part", "Track", "wood_density"]
