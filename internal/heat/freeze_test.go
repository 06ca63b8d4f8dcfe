package heat

import (
	"context"
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pourwright/internal/section"
)

func band(inside float64, s ...section.Station) FreezeIn {
	return FreezeIn{Ring: &FreezeRing{InsideMM: inside, Profile: s}, Alloy: "silver-925", MouldC: 25, InterfaceWM2K: 850,
		Sprue: true, SprueLongMM: 8, ClayMM: 15, FeedingStops: 0.7}
}

func TestTMP3(t *testing.T) {
	in := band(60, section.Station{Section: section.Section{Shape: section.HalfRound, ThicknessMM: 2.2, WidthMM: 6}})
	t0 := time.Now()
	out, err := Freeze(context.Background(), in)
	require.NoError(t, err)
	fmt.Println(time.Since(t0))
	out.Notes.Sources, out.Notes.Cautions = nil, nil
	b, _ := json.MarshalIndent(out, "", " ")
	fmt.Println(string(b))
}
