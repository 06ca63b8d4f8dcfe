package api

import (
	"pourwright/internal/calc"
	"pourwright/internal/exercise"
)

// Exercises poses cases for a class and checks answers to them.
var Exercises = calc.Define(calc.Info{
	Name: "exercises", Subject: "Practice", Summary: "A case with invented figures for a class, and the check of an answer to it",
	Description: "The number of the case (seed) fixes its figures. The answer, which comes from the calculation named by endpoint, stays hidden until it is asked for or met within the tolerance. A class set is one request to rows with a seed for each student.",
}, []calc.Example{
	calc.Sample("shown", "A case with its answer and working (invented)", `{"topic": "mould_size", "seed": 7, "show": true}`),
	calc.Sample("posed", "A case for a student (invented)", `{"topic": "raise_fineness", "seed": 12}`),
	calc.Sample("checked", "An answer to check (invented)", `{"topic": "bangle_size", "seed": 3, "answer": 65, "tolerance_pct": 1}`),
}, exercise.Case)
