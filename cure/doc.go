// Package cure turns a data sheet's times at a few temperatures, and a history
// of temperature, into the time of an event: tack-free, recoat, foot.
//
// One event has one law. Along a history the event comes when the integral of
// dt/Time(T(t)) reaches 1 ([Reach]).
//
// Laws come from rows ([Table], [Bins]), from a fit of them ([Fit] and [Arrhenius];
// [FitVogel] and [Vogel] where they bend) or a rule ([Doubling], [HansenPedersen]),
// and are put together by [AtLeast], [AtMost] and [Piecewise]. [EquivalentAge] and
// [NurseSaul] ask how old a cure is, [ReachInterval] how sure. Where the air's
// humidity counts too, [HumidTable] holds the rows and [HumidLaw] goes along a night.
//
// Below the times lies the chemistry: [Kinetics] gives the conversion along a
// history, [Gel] and [Glass] what it means, [MixRatio] the parts, [Exotherm] and
// [Mix] a mass that warms itself, and so its pot life.
package cure
