// Package coverage computes how much material a floor takes: films and losses,
// patches, joints and cove, mixing, kits and batches.
package coverage
