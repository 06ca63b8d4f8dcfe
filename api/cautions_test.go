package api_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/safety"
)

// hazards are the cautions that every answer of a calculation carries, since
// it tells somebody to do what can hurt them.
var hazards = map[string][]calc.Caution{
	"alloys":         {safety.MoltenMetal, safety.HallmarkLaw},
	"blends":         {safety.MoltenMetal, safety.Flux, safety.HallmarkLaw},
	"commissions":    {safety.MoltenMetal, safety.DampMould, safety.TorchGas, safety.HotMould, safety.OilSmoke, safety.HallmarkLaw, safety.ConsumerLaw},
	"corrections":    {safety.MoltenMetal, safety.DampMould, safety.Flux, safety.HallmarkLaw},
	"drafts":         {safety.MoltenMetal, safety.DampMould, safety.TorchGas, safety.HallmarkLaw, safety.ConsumerLaw},
	"fills":          {safety.MoltenMetal, safety.DampMould, safety.HotMould, safety.OilSmoke},
	"test-pours":     {safety.MoltenMetal, safety.DampMould, safety.HotMould, safety.OilSmoke},
	"flask-holds":    {safety.MoltenMetal, safety.DampMould},
	"flask-layouts":  {safety.MoltenMetal, safety.DampMould, safety.OilSmoke},
	"freezes":        {safety.MoltenMetal, safety.DampMould, safety.HotMould, safety.OilSmoke},
	"joint-blends":   {safety.MoltenMetal, safety.Flux, safety.HallmarkLaw},
	"melts":          {safety.MoltenMetal, safety.DampMould, safety.TorchGas},
	"pour-plans":     {safety.MoltenMetal, safety.DampMould},
	"quotes":         {safety.ConsumerLaw},
	"stone-settings": {safety.MoltenMetal, safety.DampMould, safety.HotMould, safety.StoneConsent},
}

// checkCautions holds an answer's cautions to their form and their order, and
// demands those of molten metal wherever a temperature to pour at is told.
func checkCautions(t *testing.T, name string, answer []byte, cautions []calc.Caution) {
	t.Helper()
	rank := map[calc.Severity]int{calc.Danger: 3, calc.Care: 2, calc.Note: 1}
	codes := map[string]calc.Severity{}
	worst := 3
	for _, c := range cautions {
		require.Regexp(t, `^[a-z0-9]+(_[a-z0-9]+)*$`, c.Code)
		require.NotZero(t, rank[c.Severity], "%s is %q", c.Code, c.Severity)
		require.LessOrEqual(t, rank[c.Severity], worst, "%s stands below a milder one", c.Code)
		require.Regexp(t, `[.!?)]$`, c.Text, c.Code)
		worst = rank[c.Severity]
		codes[c.Code] = max(codes[c.Code], c.Severity)
	}
	wanted := hazards[name]
	if bytes.Contains(answer, []byte(`"pour_c":`)) {
		wanted = append([]calc.Caution{safety.MoltenMetal, safety.DampMould}, wanted...)
	}
	for _, c := range wanted {
		require.Equal(t, c.Severity, codes[c.Code], "the answer lacks the caution %s", c.Code)
	}
}
