// Package learn takes readings from the site - loggers on the slab and in the
// air, kits used, wet films, grain vacuumed back, hours worked - and learns from
// them the figures that a plan stands on: film coefficient and ground under the
// slab, what the building loses, what the pores drink, the crew's film and rates.
//
// Every figure comes with a 95 % interval and says from how many readings it was
// learned. A sensor that reads wrong is told by name and not believed: what is
// wrong with it, by how much, and what was done about it. What the readings
// cannot tell apart is refused, with the reason.
//
// [Learn] does all of it for a file of readings (see [Read]); [Result.Apply] puts
// what was learned into a job, from which [systems.Plan] plans from now.
package learn
