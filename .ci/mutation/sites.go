package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/constant"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// site is a place in a file and what may stand there instead.
type site struct {
	file     string // absolute
	name     string // of the file, below the module
	line     int
	from, to int // bytes of the file
	was      string
	instead  []string
	text     string // of the line
}

// mutant is a site with one of its replacements.
type mutant struct {
	site
	becomes string
}

func (m mutant) String() string {
	return fmt.Sprintf("%s:%d: %s -> %s   in   %s", m.name, m.line, m.was, m.becomes, m.text)
}

// key names a mutant in the list of equivalent ones: by its line's text and
// not by its number, which moves.
func (m mutant) key() string {
	return strings.Join([]string{filepath.Base(m.name), m.was + " -> " + m.becomes, m.text}, " | ")
}

// pkg is a package that is to be broken.
type pkg struct {
	path  string // below the module
	lines int    // of code, comments and blank ones not counted
	sites []site
	count map[string]int // of lines by file
}

// listed is what go list says of a package.
type listed struct {
	Dir, ImportPath, Export, Name string
	Module                        *struct{ Path, Dir string }
	GoFiles                       []string
}

// load finds every place of the package that can be broken.
func load(pattern string) (*pkg, error) {
	out, err := exec.Command("go", "list", "-export", "-deps", "-json=Dir,ImportPath,Export,Name,Module,GoFiles", pattern).Output()
	if err != nil {
		var exit *exec.ExitError
		if errors.As(err, &exit) {
			return nil, fmt.Errorf("go list %s: %s", pattern, exit.Stderr)
		}
		return nil, err
	}
	exports := map[string]string{}
	var target listed
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var l listed
		if err := dec.Decode(&l); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return nil, err
		}
		exports[l.ImportPath], target = l.Export, l // the package itself comes last
	}
	fset := token.NewFileSet()
	var files []*ast.File
	for _, name := range target.GoFiles {
		f, err := parser.ParseFile(fset, filepath.Join(target.Dir, name), nil, parser.ParseComments|parser.SkipObjectResolution)
		if err != nil {
			return nil, err
		}
		files = append(files, f)
	}
	info := &types.Info{Types: map[ast.Expr]types.TypeAndValue{}}
	lookup := func(path string) (io.ReadCloser, error) { return os.Open(exports[path]) }
	conf := types.Config{Importer: importer.ForCompiler(fset, "gc", lookup)}
	if _, err := conf.Check(target.ImportPath, fset, files, info); err != nil {
		return nil, err
	}
	p := &pkg{path: strings.TrimPrefix(target.ImportPath, target.Module.Path+"/"), count: map[string]int{}}
	for _, f := range files {
		if err := p.add(fset, f, info, target.Module.Dir); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// add finds the sites of one file.
func (p *pkg) add(fset *token.FileSet, f *ast.File, info *types.Info, root string) error {
	path := fset.File(f.Pos()).Name()
	text, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	name, err := filepath.Rel(root, path)
	if err != nil {
		return err
	}
	lines := strings.Split(string(text), "\n")
	code := codeLines(lines)
	p.lines, p.count[name] = p.lines+code, code
	at := func(pos token.Pos, was string, instead ...string) {
		where := fset.Position(pos)
		if len(instead) > 0 && strings.HasPrefix(string(text[where.Offset:]), was) {
			p.sites = append(p.sites, site{file: path, name: name, line: where.Line, from: where.Offset, to: where.Offset + len(was),
				was: was, instead: instead, text: strings.Join(strings.Fields(lines[where.Line-1]), " ")})
		}
	}
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.ImportSpec, *ast.Field: // tags and types
			return false
		case *ast.ArrayType:
			return false
		case *ast.BinaryExpr:
			at(n.OpPos, n.Op.String(), swapped(n, info)...)
		case *ast.BasicLit:
			at(n.Pos(), n.Value, scaled(n, info)...)
		case *ast.IfStmt:
			if c, ok := n.Cond.(*ast.BinaryExpr); !ok || c.Op == token.LAND || c.Op == token.LOR { // a comparison is swapped
				was := string(text[fset.Position(n.Cond.Pos()).Offset:fset.Position(n.Cond.End()).Offset])
				at(n.Cond.Pos(), was, "!("+was+")")
			}
		case *ast.UnaryExpr:
			if n.Op == token.SUB && numeric(info.TypeOf(n)) {
				at(n.OpPos, "-", "+")
			}
		}
		return true
	})
	return nil
}

// codeLines counts the lines that are neither blank nor a comment.
func codeLines(lines []string) (n int) {
	for _, line := range lines {
		if l := strings.TrimSpace(line); l != "" && !strings.HasPrefix(l, "//") {
			n++
		}
	}
	return n
}

// others are the operators that may stand instead of one.
var others = map[token.Token]string{
	token.ADD: "-", token.SUB: "+", token.MUL: "/", token.QUO: "*",
	token.LSS: ">=", token.LEQ: ">", token.GTR: "<=", token.GEQ: "<", token.EQL: "!=", token.NEQ: "==",
	token.LAND: "||", token.LOR: "&&",
}

func swapped(n *ast.BinaryExpr, info *types.Info) []string {
	to, ok := others[n.Op]
	if !ok {
		return nil
	}
	switch n.Op {
	case token.ADD, token.SUB, token.MUL, token.QUO:
		if !numeric(info.TypeOf(n)) {
			return nil
		}
	}
	return []string{to}
}

func numeric(t types.Type) bool {
	if t == nil {
		return false
	}
	b, ok := t.Underlying().(*types.Basic)
	return ok && b.Info()&types.IsNumeric != 0
}

// scaled are a number x 1.1 and x 0.9. Whole numbers under ten stay: they
// count and index, and mostly a break of theirs is another program.
func scaled(n *ast.BasicLit, info *types.Info) []string {
	tv, ok := info.Types[n]
	if !ok || tv.Value == nil || !numeric(tv.Type) {
		return nil
	}
	v, _ := constant.Float64Val(constant.ToFloat(tv.Value))
	b := tv.Type.Underlying().(*types.Basic)
	if b.Info()&types.IsInteger != 0 || b.Kind() == types.UntypedInt {
		if v < 10 || strings.HasPrefix(n.Value, "0x") || n.Kind == token.CHAR {
			return nil
		}
		up, down := int64(v*1.1+0.5), int64(v*0.9)
		return []string{strconv.FormatInt(up, 10), strconv.FormatInt(down, 10)}
	}
	if v == 0 {
		return nil
	}
	write := func(x float64) string { return strconv.FormatFloat(x, 'g', 12, 64) }
	return []string{write(v * 1.1), write(v * 0.9)}
}

// draw takes mutants in proportion to the lines of each file, no two of one
// site while there are others, always the same of a seed.
func (p *pkg) draw(seed uint64, per, most int) []mutant {
	g := rand.New(rand.NewPCG(seed, 0))
	byFile := map[string][]site{}
	for _, s := range p.sites {
		byFile[s.name] = append(byFile[s.name], s)
	}
	total := (p.lines + per - 1) / per
	if most > 0 {
		total = min(total, most)
	}
	names := make([]string, 0, len(byFile))
	for name := range byFile {
		names = append(names, name)
	}
	slices.Sort(names)
	var drawn []mutant
	for _, name := range names {
		sites := byFile[name]
		n := max(1, (total*p.count[name]+p.lines/2)/p.lines)
		g.Shuffle(len(sites), func(i, j int) { sites[i], sites[j] = sites[j], sites[i] })
		for _, s := range sites[:min(n, len(sites))] {
			drawn = append(drawn, mutant{s, s.instead[g.IntN(len(s.instead))]})
		}
	}
	slices.SortFunc(drawn, func(a, b mutant) int {
		if c := strings.Compare(a.name, b.name); c != 0 {
			return c
		}
		return a.from - b.from
	})
	return drawn
}

// readEquivalent reads the list of mutants that change nothing. A line holds
// file | was -> becomes | text of the line | reason; the reason is demanded.
func readEquivalent(path string) (map[string]bool, error) {
	known := map[string]bool{}
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return known, nil
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	lines := bufio.NewScanner(f)
	for n := 1; lines.Scan(); n++ {
		line := strings.TrimSpace(lines.Text())
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		cut := strings.LastIndex(line, " | ")
		if cut < 0 || strings.Count(line, " | ") < 3 || strings.TrimSpace(line[cut+3:]) == "" {
			return nil, fmt.Errorf("%s:%d: give FILE | WAS -> BECOMES | LINE OF CODE | REASON", path, n)
		}
		known[line[:cut]] = true
	}
	return known, lines.Err()
}
