"""A kit for tests of the low floors, which know no rulebook: the demo scenario's, invented figures."""

from __future__ import annotations

from bodyshop.car.design import Kit

__all__ = ["TEST_KIT", "TEST_KIT_INCH"]

TEST_KIT = Kit(
    blank="larkfield-block",
    wood="basswood",
    axle="axle-3",
    bearing="straw-4",
    front_wheel="wheel-front-32",
    rear_wheel="wheel-rear-34",
    washer="washer-3",
    washers=1,
    screw_eye="screw-eye-small",
    cartridge="cartridge-8g",
    finish="painted",
    glue="drops",
)

TEST_KIT_INCH = Kit(
    blank="foot-block",
    wood="basswood",
    axle="axle-inch",
    bearing="straw-inch",
    front_wheel="wheel-front-inch",
    rear_wheel="wheel-rear-inch",
    washer="washer-inch",
    washers=1,
    screw_eye="screw-eye-inch",
    cartridge="cartridge-8g",
    finish="painted",
    glue="drops",
)
