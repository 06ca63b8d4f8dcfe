#!/usr/bin/env bash
# docs/deploy/kubernetes.yaml read strictly into the types of the API, which
# come from the Go proxy: a misspelt, misplaced or mistyped member is refused.
set -euo pipefail
manifest=$(realpath docs/deploy/kubernetes.yaml)
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
cat >"$scratch/main.go" <<'GO'
package main

import (
	"bytes"
	"log"
	"os"

	apps "k8s.io/api/apps/v1"
	scaling "k8s.io/api/autoscaling/v2"
	core "k8s.io/api/core/v1"
	network "k8s.io/api/networking/v1"
	policy "k8s.io/api/policy/v1"
	"sigs.k8s.io/yaml"
)

func main() {
	text, err := os.ReadFile(os.Args[1])
	if err != nil {
		log.Fatal(err)
	}
	kinds := map[string]any{"Deployment": &apps.Deployment{}, "Service": &core.Service{}, "HorizontalPodAutoscaler": &scaling.HorizontalPodAutoscaler{},
		"PodDisruptionBudget": &policy.PodDisruptionBudget{}, "NetworkPolicy": &network.NetworkPolicy{}}
	for _, doc := range bytes.Split(text, []byte("\n---\n")) {
		var head struct{ Kind string }
		if err := yaml.Unmarshal(doc, &head); err != nil {
			log.Fatal(err)
		}
		into := kinds[head.Kind]
		if into == nil {
			log.Fatalf("kind %q", head.Kind)
		}
		if err := yaml.UnmarshalStrict(doc, into); err != nil {
			log.Fatalf("%s: %v", head.Kind, err)
		}
		log.Printf("%s is as the API has it", head.Kind)
	}
}
GO
cd "$scratch"
go mod init check 2>/dev/null
{ go get k8s.io/api@v0.34.0 sigs.k8s.io/yaml@v1.6.0 && go mod tidy; } 2>"$scratch/get.log" || { cat "$scratch/get.log"; exit 1; }
go run . "$manifest"
