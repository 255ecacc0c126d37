// Package climate computes the air, the slab and the room that a floor is laid
// in: moist air and the dew-point margin at a surface, heat conduction in the
// slab, the room's air with heaters and their fuel, drying of waterborne coats,
// ventilation, and readings of slab moisture.
//
// Relative humidity is everywhere relative to saturation over liquid water,
// also below 0 °C (the convention of WMO-No. 8). What is over ice says so in
// its name, but for the wet bulb below 0 °C, which carries ice.
package climate
