// Package coverage computes how much material a floor takes, and what was
// built: films and losses by cause, several coats, take-off of shapes, patches,
// joints and cove, mixes and formulas with their volatile compounds, kits and
// batches, marks that show, and thickness readings.
//
// Its rules for readings ([Judge], [SpotSampling], [ReadingSampling]) come from
// standards that were written for metal: floors borrow the arithmetic, not the
// authority.
package coverage
