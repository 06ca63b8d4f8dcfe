// Package api lists the calculations offered over HTTP, one file a subject.
// It holds definitions and examples only; the work is done in the packages below.
package api

import "pourwright/internal/calc"

// All is every calculation, in the order of the job. It is the only list.
var All = []calc.Calculation{
	Meshes,
	RingSizes, RingTables, BangleFits, MouldSizes, MouldCalibrations, FlaskLayouts, Formers, Shapes,
	StoneSizes, StoneSettings, StoneLayouts,
	Blends, JointBlends, Corrections, Reconciliations,
	Alloys, AlloyProperties,
	Melts, SprueLayouts, Fills, Calibrations, TestPours,
	Freezes,
	Quotes,
	BenchTradeoffs, FlaskHolds, Drafts, PourOptions, Commissions, Classes, Papers,
	Exercises,
}

// Collections are the catalogues that can be listed and looked up.
var Collections = []calc.Collection{AlloyList, Stones}
