// Package climate computes the air and the slab that a floor is laid in: moist
// air, the dew-point margin at a surface, and histories of temperature.
//
// Relative humidity is everywhere relative to saturation over liquid water,
// also below 0 °C (the convention of WMO-No. 8). What is over ice says so in
// its name.
package climate
