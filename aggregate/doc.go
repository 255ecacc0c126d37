// Package aggregate computes what grain does in resin: how much a wet film
// holds when it is broadcast to refusal, how deep the grain sits, how much is
// vacuumed back, what the grout takes, and how mortars fill.
package aggregate
