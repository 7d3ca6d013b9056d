"""Bearings, axles, washers, wheels, screw eyes and cartridge put to the body."""

from bodyshop.car.assembly.car import Car
from bodyshop.car.assembly.mass import WIDE, Mass, MassGroup, MassItem, wood_density
from bodyshop.car.assembly.stack import AxleStack, Track

__all__ = ["WIDE", "AxleStack", "Car", "Mass", "MassItem", "MassGroup", "Track", "wood_density"]
