package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"

	"pourwright/internal/commission"
	"pourwright/internal/serve"
	"pourwright/testdata"
)

// demoCommand posts the demo commission to a server of its own and prints the
// plan, as a first use of the program.
func demoCommand(ctx context.Context, args []string, _ func(string) string, stdout, stderr io.Writer) error {
	flags := flag.NewFlagSet("demo", flag.ContinueOnError)
	if err := parse(flags, args, stderr); err != nil {
		return err
	}
	plan, err := askDemo(ctx)
	if err != nil {
		return err
	}
	_, err = io.WriteString(stdout, readable(plan))
	return err
}

// askDemo starts a server on a free port, asks it over HTTP and stops it.
func askDemo(ctx context.Context) (commission.CommissionOut, error) {
	var plan commission.CommissionOut
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	server, err := newServer(serve.DefaultSettings(Version))
	if err != nil {
		return plan, err
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return plan, err
	}
	served := make(chan error, 1)
	go func() { served <- server.Serve(ctx, listener) }()
	url := "http://" + listener.Addr().String() + "/v1/commissions?working=false"
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, url, strings.NewReader(testdata.Commission))
	if err != nil {
		return plan, err
	}
	request.Header.Set("Content-Type", "application/json")
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return plan, err
	}
	defer response.Body.Close()
	body, err := io.ReadAll(response.Body)
	if err != nil {
		return plan, err
	}
	if response.StatusCode != http.StatusOK {
		return plan, fmt.Errorf("the server answered %s: %s", response.Status, body)
	}
	if err := json.NewDecoder(bytes.NewReader(body)).Decode(&plan); err != nil {
		return plan, err
	}
	stop()
	return plan, <-served
}

// readable sets the plan out for a terminal.
func readable(plan commission.CommissionOut) string {
	var b strings.Builder
	say := func(format string, args ...any) { _, _ = fmt.Fprintf(&b, format+"\n", args...) }
	say("The demo commission is an invented scenario.\n")
	say("%s\n", plan.Summary)
	for _, p := range plan.Pieces {
		say("%s: %s", strings.ToUpper(p.Name), strings.ReplaceAll(string(p.Verdict), "_", " "))
		for _, r := range p.Reasons {
			say("  - %s", r.Text)
		}
		say("  mould inside %.2f mm; melt %.2f g for a casting of %.1f g; pour at %.0f °C", p.Mould.Mould.InsideDiameterMM, p.Melt.MeltMassG, p.Melt.CastingMassG, p.PourC)
		for _, l := range p.Fill.Levers[:min(3, len(p.Fill.Levers))] {
			say("  lever: %s: risk %.0f %%", l.Change, l.FailurePct)
		}
		say("")
	}
	say("STEPS")
	for _, s := range plan.Steps {
		who := ""
		if s.Piece != "" {
			who = "[" + s.Piece + "] "
		}
		say("%3d. %s%s", s.Number, who, s.Do)
		if s.Caution != "" {
			say("     ! %s", s.Caution)
		}
	}
	say("\nCAUTIONS")
	for _, c := range plan.Cautions {
		if c.Severity == "danger" {
			say("  ! %s", c.Text)
		}
	}
	say("\nPRICE %s %s (%s to %s); deposit %s", plan.Price.Total, plan.Price.Currency, plan.Price.LowTotal, plan.Price.HighTotal, plan.Price.Deposit)
	return b.String()
}
