// Asks the server with the generated client alone: a price to the last digit,
// a size, a refusal and the demo commission.
package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"log"
	"os"
)

func main() {
	server, file := os.Args[1], os.Args[2]
	ctx := context.Background()
	client, err := NewClientWithResponses(server)
	check(err)

	// Fields with defaults are left out; the metal price has more digits than a
	// single-precision number holds.
	zero, price, negative := 0.0, 1234567.89, -1.0
	priced := QuotesInput{Currency: "EUR", MetalPricePerGram: &price, PieceG: 1, FinenessPermil: 1000, BenchLossPct: &zero, MeltLossPct: &zero}
	quote, err := client.QuotesWithResponse(ctx, nil, priced)
	check(err)
	if quote.JSON200 == nil || quote.JSON200.Total != "1234567.89" {
		log.Fatalf("price: %s", quote.Body)
	}

	const system = RingSizesGetParamsSystem("us")
	ring, err := client.RingSizesGetWithResponse(ctx, &RingSizesGetParams{System: system, Size: "7"})
	check(err)
	if ring.JSON200 == nil || ring.JSON200.DiameterMm != 17.32 {
		log.Fatalf("US 7: %s", ring.Body)
	}

	priced.MetalPricePerGram = &negative
	refused, err := client.QuotesWithResponse(ctx, nil, priced)
	check(err)
	if p := refused.ApplicationproblemJSON422; p == nil || p.Errors == nil || (*p.Errors)[0].Location != "body.metal_price_per_gram" {
		log.Fatalf("refused field: %s", refused.Body)
	}

	text, err := os.ReadFile(file)
	check(err)
	var given CommissionsInput
	decoder := json.NewDecoder(bytes.NewReader(text))
	decoder.DisallowUnknownFields()
	check(decoder.Decode(&given))
	working := false
	plan, err := client.CommissionsWithResponse(ctx, &CommissionsParams{Working: &working}, given)
	check(err)
	if plan.JSON200 == nil || len(plan.JSON200.Pieces) != len(given.Pieces) {
		log.Fatalf("%s: %s", plan.Status(), plan.Body)
	}
	for _, piece := range plan.JSON200.Pieces {
		fmt.Printf("%s: %s, melt %v g\n", piece.Name, piece.Verdict, piece.Melt.MeltMassG)
	}
}

func check(err error) {
	if err != nil {
		log.Fatal(err)
	}
}
