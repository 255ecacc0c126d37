package units

// kinds lists every linear quantity.
func kinds() []*kind {
	return []*kind{
		&lengths,
		&areas,
		&volumes,
		&masses,
		&densities,
		&loadings,
		&spreads,
		&fractions,
		&pressures,
		&energies,
		&powers,
		&flows,
		&massFlows,
		&massFluxes,
		&molarEnergies,
		&tempDeltas,
		&tempTimes,
		&conductivities,
		&filmCoefficients,
		&conductances,
		&heatFluxes,
		&specificHeats,
		&specificEnergies,
		&energyDensities,
		&speeds,
		&areaRates,
		&rates,
	}
}
