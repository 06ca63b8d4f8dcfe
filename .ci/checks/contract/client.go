// Completes the demo commission with the generated client alone.
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
	text, err := os.ReadFile(file)
	if err != nil {
		log.Fatal(err)
	}
	var given CommissionIn
	decoder := json.NewDecoder(bytes.NewReader(text))
	decoder.DisallowUnknownFields()
	if err := decoder.Decode(&given); err != nil {
		log.Fatal(err)
	}
	client, err := NewClientWithResponses(server)
	if err != nil {
		log.Fatal(err)
	}
	working := false
	response, err := client.CommissionsWithResponse(context.Background(), &CommissionsParams{Working: &working}, given)
	if err != nil {
		log.Fatal(err)
	}
	plan := response.JSON200
	if plan == nil || len(plan.Pieces) != len(given.Pieces) {
		log.Fatalf("%s: %s", response.Status(), response.Body)
	}
	for _, piece := range plan.Pieces {
		fmt.Printf("%s: %s, melt %v g\n", piece.Name, piece.Verdict, piece.Melt.MeltMassG)
	}
}
