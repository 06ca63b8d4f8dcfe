// Bill writes the bill of materials of a program built by Go, from what the
// compiler has noted in it, as CycloneDX 1.5.
//
//	go run ./.ci/bill PROGRAM > bill.json
package main

import (
	"debug/buildinfo"
	"encoding/json"
	"log"
	"os"
)

type component struct {
	Type    string `json:"type"`
	Name    string `json:"name"`
	Version string `json:"version"`
	URL     string `json:"purl"`
	// Properties hold the module's checksum as go.sum writes it.
	Properties []property `json:"properties,omitempty"`
}

type property struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

type bill struct {
	Format     string      `json:"bomFormat"`
	Spec       string      `json:"specVersion"`
	Version    int         `json:"version"`
	Metadata   metadata    `json:"metadata"`
	Components []component `json:"components"`
}

type metadata struct {
	Component component `json:"component"`
}

func main() {
	log.SetFlags(0)
	if len(os.Args) != 2 {
		log.Fatal("usage: bill PROGRAM")
	}
	info, err := buildinfo.ReadFile(os.Args[1])
	if err != nil {
		log.Fatal(err)
	}
	b := bill{Format: "CycloneDX", Spec: "1.5", Version: 1,
		Metadata:   metadata{component{Type: "application", Name: info.Main.Path, Version: info.Main.Version, URL: "pkg:golang/" + info.Main.Path}},
		Components: []component{{Type: "platform", Name: "go", Version: info.GoVersion, URL: "pkg:generic/go@" + info.GoVersion}},
	}
	for _, d := range info.Deps {
		if d.Replace != nil {
			d = d.Replace
		}
		b.Components = append(b.Components, component{Type: "library", Name: d.Path, Version: d.Version,
			URL: "pkg:golang/" + d.Path + "@" + d.Version, Properties: []property{{"go.sum", d.Sum}}})
	}
	out := json.NewEncoder(os.Stdout)
	out.SetIndent("", "  ")
	if err := out.Encode(b); err != nil {
		log.Fatal(err)
	}
}
