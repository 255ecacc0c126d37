// Package aggregate computes what grain does in resin: how much a wet film
// holds when it is broadcast to refusal, how deep the grain sits, how much is
// vacuumed back, what the grout and the next course take, and how mortars fill;
// and what a sieve analysis, a bulk density and the models of packing say of
// the grain itself.
//
// The plan coverages come of the simulations in internal/deposit: grain that
// stays where it touches the floor jams at 0.547, grain that rolls off other
// grain covers 0.6105; thrown to refusal and worked in, it comes to about 0.82.
package aggregate
