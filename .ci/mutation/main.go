// Mutation breaks the formulas of a package one at a time, in copies that only
// the compiler sees (go test -overlay), and tells which of the breaks no test
// of the package notices.
//
//	go run ./.ci/mutation -pkg ./internal/fluid [-seed 7] [-per 8] [-tests ./internal/fluid,./internal/fill]
//
// Tests whose names hold "Golden" are left out: a stored answer notices every
// change and says nothing about whether the answer is right.
package main

import (
	"context"
	"flag"
	"fmt"
	"log"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"time"
)

// settings are the flags of one check.
type settings struct {
	pkg   string
	tests []string
	seed  uint64
	per   int // lines of code a mutant
	most  int // mutants, 0 for no limit
	limit float64
	file  string // of equivalent mutants; "" for the package's own
	list  bool
}

func main() {
	log.SetFlags(0)
	log.SetPrefix("mutation: ")
	var s settings
	tests := flag.String("tests", "", "packages whose tests are run, parted by commas; the package itself without")
	flag.StringVar(&s.pkg, "pkg", "", "the package to break, such as ./internal/fluid")
	flag.Uint64Var(&s.seed, "seed", 1, "which places are drawn")
	flag.IntVar(&s.per, "per", 8, "lines of code for each mutant")
	flag.IntVar(&s.most, "most", 150, "at most this many mutants; 0 for no limit")
	flag.Float64Var(&s.limit, "limit", 10, "per cent of mutants that may survive")
	flag.StringVar(&s.file, "equivalent", "", "list of equivalent mutants; .ci/mutation/equivalent/PACKAGE.txt without")
	flag.BoolVar(&s.list, "list", false, "list the mutants drawn and run nothing")
	flag.Parse()
	if s.pkg == "" || s.per < 1 {
		flag.Usage()
		os.Exit(2)
	}
	s.tests = []string{s.pkg}
	if *tests != "" {
		s.tests = strings.Split(*tests, ",")
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	passed, err := check(ctx, s)
	if err != nil {
		stop()
		log.Fatal(err)
	}
	if !passed {
		stop()
		os.Exit(1)
	}
}

// check draws the mutants, runs them and reports; it passes when no more
// survive than the limit says.
func check(ctx context.Context, s settings) (passed bool, err error) {
	p, err := load(s.pkg)
	if err != nil {
		return false, err
	}
	if s.file == "" {
		s.file = filepath.Join(".ci", "mutation", "equivalent", strings.ReplaceAll(p.path, "/", "-")+".txt")
	}
	known, err := readEquivalent(s.file)
	if err != nil {
		return false, err
	}
	mutants := p.draw(s.seed, s.per, s.most)
	if s.list {
		for _, m := range mutants {
			fmt.Println(m)
		}
		return true, nil
	}
	work, err := os.MkdirTemp("", "mutation")
	if err != nil {
		return false, err
	}
	defer os.RemoveAll(work)
	r := runner{work: work, tests: s.tests}
	if err := r.baseline(ctx); err != nil {
		return false, err
	}
	fmt.Printf("%s: %d lines, %d places, %d mutants of seed %d; tests %s take %s, a mutant has %s\n",
		s.pkg, p.lines, len(p.sites), len(mutants), s.seed, strings.Join(s.tests, " "), r.took.Round(10*time.Millisecond), r.limit.Round(time.Second))
	var ran, survived, invalid, equivalent, late int
	for _, m := range mutants {
		if known[m.key()] {
			equivalent++
			continue
		}
		fate, err := r.run(ctx, p, m)
		if err != nil {
			return false, err
		}
		switch fate {
		case doesNotCompile:
			invalid++
			continue
		case lives:
			survived++
			fmt.Printf("SURVIVED %s\n", m)
		case tooSlow:
			late++
		}
		ran++
	}
	share := 0.0
	if ran > 0 {
		share = 100 * float64(survived) / float64(ran)
	}
	fmt.Printf("%s: %d of %d survived, %.1f %% (%d ended by their time limit, %d equivalent and %d that do not compile left out)\n",
		s.pkg, survived, ran, share, late, equivalent, invalid)
	return share <= s.limit, nil
}
