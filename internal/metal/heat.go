package metal

// SolidusC returns the equilibrium solidus, °C.
func (m Metal) SolidusC() float64 { return m.solidus }

// LiquidusC returns the liquidus, °C: where freezing begins.
func (m Metal) LiquidusC() float64 { return m.liquidus }

// FreezingEndC returns where the last liquid freezes in a casting, °C: the
// eutectic, or where 1 % of liquid is left, with no diffusion in the solid
// (assessed alloys); else the solidus. A pure metal is given a span of 0.5 K.
func (m Metal) FreezingEndC() float64 { return m.end }

// RangeBandK returns the uncertainty of the liquidus, ± K; 0 for the user's own.
func (m Metal) RangeBandK() float64 { return m.band }

// RangeBasis says where the melting range comes from.
func (m Metal) RangeBasis() Basis { return m.basis }

// EutecticFraction returns the mass fraction of a casting that freezes as a
// mixture of two solids; false where no model is known.
func (m Metal) EutecticFraction() (float64, bool) {
	return m.eutectic, m.system != nil || len(m.parts) == 1
}

// SolidFraction returns the mass fraction solid at tC while a casting
// freezes: 0 at the liquidus and above, 1 at [Metal.FreezingEndC] and below.
func (m Metal) SolidFraction(tC float64) float64 {
	switch {
	case tC >= m.liquidus:
		return 0
	case tC <= m.end:
		return 1
	}
	return at(m.curve.t, m.curve.solid, tC)
}

// EquilibriumSolidFraction returns the mass fraction solid at tC by the lever
// rule of the equilibrium diagram, between solidus and liquidus; false where
// no model of the alloy is known.
func (m Metal) EquilibriumSolidFraction(tC float64) (float64, bool) {
	switch {
	case tC >= m.liquidus:
		return 0, true
	case tC <= m.solidus:
		return 1, true
	case m.system == nil:
		return 0, false
	}
	f, err := m.system.lever(m.moles, tC+zeroC)
	if err != nil {
		return 0, false
	}
	return f.share * m.system.mass(f.two) / m.system.mass(m.moles), true
}

// EnthalpyKJKg returns the enthalpy at tC above the solid as cast at 25 °C,
// kJ/kg, with the latent heat released along [Metal.SolidFraction]. It is
// continuous and rises with temperature. Within 3 % for Ag-Au-Cu, 5 % else.
func (m Metal) EnthalpyKJKg(tC float64) float64 { return at(m.curve.t, m.curve.h, tC) }

// TemperatureC returns the temperature of that enthalpy, °C: the inverse of
// [Metal.EnthalpyKJKg].
func (m Metal) TemperatureC(hKJKg float64) float64 { return at(m.curve.h, m.curve.t, hKJKg) }

// LatentKJKg returns the heat given up in freezing that is not due to the
// fall of temperature, kJ/kg.
func (m Metal) LatentKJKg() float64 { return m.latent }

// UnmixedKJKg returns what must be added to [Metal.EnthalpyKJKg] when the
// charge is not this alloy as cast but its pure metals, kJ/kg: the heat of
// mixing of the solid, within 30 %. False where no model is known.
func (m Metal) UnmixedKJKg() (float64, bool) {
	switch {
	case len(m.parts) == 1:
		return 0, true
	case m.system == nil:
		return 0, false
	}
	tC := m.liquidus + 100
	return m.system.enthalpy(liquid, m.moles, tC+zeroC)/m.system.mass(m.moles) - m.EnthalpyKJKg(tC), true
}
