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
	"time"

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
	plan, err := askDemo(ctx, testdata.Commission)
	if err != nil {
		return err
	}
	_, err = io.WriteString(stdout, readable(plan))
	return err
}

// demoOrderCommand does the same with the order of several pieces.
func demoOrderCommand(ctx context.Context, args []string, _ func(string) string, stdout, stderr io.Writer) error {
	flags := flag.NewFlagSet("demo-order", flag.ContinueOnError)
	if err := parse(flags, args, stderr); err != nil {
		return err
	}
	plan, err := askDemo(ctx, testdata.Order)
	if err != nil {
		return err
	}
	_, err = io.WriteString(stdout, readable(plan))
	return err
}

// askDemo starts a server on a free port, asks it over HTTP and stops it.
func askDemo(ctx context.Context, order string) (commission.Out, error) {
	var plan commission.Out
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	settings := serve.DefaultSettings(Version)
	settings.HeavyTime = time.Hour // nobody else waits for this server
	server, err := newServer(settings)
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
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, url, strings.NewReader(order))
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
func readable(plan commission.Out) string {
	var b strings.Builder
	say := func(format string, args ...any) { _, _ = fmt.Fprintf(&b, format+"\n", args...) }
	say("The demo commission is an invented scenario.\n")
	say("%s\n", plan.Summary)
	if w := plan.PourOption; w != nil {
		say("WAY TO POUR: option %d, risk of any pour %.1f %%, %.0f min", w.Number, w.RiskPct, w.BenchMin)
		say("  %s\n", w.Summary)
	}
	if s := plan.Placing; s != nil {
		say("STONES: %s", s.Summary)
		for _, st := range s.Stones {
			say("  %s at %.1f %% of %s (%s)", st.ID, st.AtPct, st.Piece, st.Role)
		}
		for _, b := range plan.StonesNotCast {
			say("  %s: %s. %s", b.ID, strings.ReplaceAll(b.What, "_", " "), b.Why)
		}
		say("")
	}
	for _, p := range plan.Pieces {
		say("%s: %s", strings.ToUpper(p.Name), p.Verdict.Phrase())
		for _, r := range p.Reasons {
			say("  - %s", strings.TrimSpace(r.Why+" "+r.Do))
		}
		measure := fmt.Sprintf("inside %.2f mm", p.MouldTold.Mould.InsideDiameterMM)
		if p.LengthMM > 0 {
			measure = fmt.Sprintf("%.2f mm long", p.MouldTold.ArcLengthMM)
		}
		say("  mould %s; melt %.2f g for a casting of %.1f g; pour at %.0f °C", measure, p.MeltTold.MeltMassG, p.MeltTold.CastingMassG, p.PourC)
		for _, l := range p.FillTold.Improvements[:min(3, len(p.FillTold.Improvements))] {
			say("  better: %s Then %s fail.", l.Do, l.Words)
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
	if plan.Price == nil {
		return b.String()
	}
	say("\nPRICE %s %s (%s to %s); deposit %s", plan.Price.Total, plan.Price.Currency, plan.Price.LowTotal, plan.Price.HighTotal, plan.Price.Deposit)
	return b.String()
}
