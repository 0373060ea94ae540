package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"testing"
)

// A type that holds state has at most so many fields and methods: past that it is two ideas.
const (
	mostFields  = 20
	mostMethods = 40
)

// A type holds state if it is a struct with a method on its pointer. What counts is what is
// written: each name of a field, an embedded type as one, each method on the value or the
// pointer in code that is no test. What an embedded type promotes does not count again.

// descriptions are structs that only carry values and decide nothing: each with its reason.
var descriptions = map[string]string{
	"session.Snapshot": "a copy of everything that a screen may draw",
}

// typeSize is the size of a struct.
type typeSize struct {
	name            string // "folder.name"
	fields, methods int
	state           bool // it has a method on its pointer
}

func TestTypesWithStateAreSmall(t *testing.T) {
	var files []goFile
	for _, f := range goFiles(t) {
		if !f.test {
			files = append(files, f)
		}
	}
	large := map[string]bool{}
	sizes := typeSizes(files)
	for _, s := range sizes {
		if !s.tooLarge() {
			continue
		}
		large[s.name] = true
		if descriptions[s.name] == "" {
			t.Errorf("%s holds state in %d fields and has %d methods, %d and %d at most: it is two ideas", s.name, s.fields, s.methods, mostFields, mostMethods)
		}
	}
	for name := range descriptions {
		if !large[name] {
			t.Errorf("%s is small enough or gone: take it off descriptions", name)
		}
	}
	if len(sizes) < 100 {
		t.Errorf("%d structs seen; the test looks in the wrong place", len(sizes))
	}
}

func (s *typeSize) tooLarge() bool {
	return s.state && (s.fields > mostFields || s.methods > mostMethods)
}

// typeSizes measures every struct.
func typeSizes(files []goFile) map[string]*typeSize {
	sizes := map[string]*typeSize{}
	for _, f := range files {
		for _, d := range f.syntax.Decls {
			g, ok := d.(*ast.GenDecl)
			if !ok {
				continue
			}
			for _, s := range g.Specs {
				if s, ok := s.(*ast.TypeSpec); ok {
					if fields, ok := s.Type.(*ast.StructType); ok {
						name := f.dir + "." + s.Name.Name
						sizes[name] = &typeSize{name: name, fields: countFields(fields)}
					}
				}
			}
		}
	}
	for _, f := range files {
		for _, d := range f.syntax.Decls {
			m, ok := d.(*ast.FuncDecl)
			if !ok || m.Recv == nil {
				continue
			}
			name, pointer := receiver(m.Recv.List[0].Type)
			if s := sizes[f.dir+"."+name]; s != nil {
				s.methods++
				s.state = s.state || pointer
			}
		}
	}
	return sizes
}

func countFields(s *ast.StructType) (n int) {
	for _, f := range s.Fields.List {
		n += max(1, len(f.Names))
	}
	return n
}

// receiver is the type that a method is on.
func receiver(e ast.Expr) (name string, pointer bool) {
	for {
		switch r := e.(type) {
		case *ast.StarExpr:
			e, pointer = r.X, true
		case *ast.IndexExpr: // generic
			e = r.X
		case *ast.IndexListExpr:
			e = r.X
		case *ast.Ident:
			return r.Name, pointer
		default:
			return "", pointer
		}
	}
}

// TestTypesWithStateAreSmall_Seen: the check counts what it is there to count.
func TestTypesWithStateAreSmall_Seen(t *testing.T) {
	for code, want := range map[string]typeSize{
		"type T struct{ a, b int; c string }; func (t *T) M() {}; func (t T) N() {}":   {fields: 3, methods: 2, state: true},
		"type T struct{ a int }; func (t T) N() {}":                                    {fields: 1, methods: 1},
		"type T struct{ U; *V; a int }; type U struct{ b, c int }; func (t *T) M() {}": {fields: 3, methods: 1, state: true},
		"type T[K any] struct{ a K }; func (t *T[K]) M() {}":                           {fields: 1, methods: 1, state: true},
		"type T struct{ a int }; func M(t *T) {}":                                      {fields: 1},
	} {
		syntax, err := parser.ParseFile(token.NewFileSet(), "p/p.go", "package p; "+code, 0)
		if err != nil {
			t.Fatal(err)
		}
		want.name = "p.T"
		if got := typeSizes([]goFile{{dir: "p", syntax: syntax}})["p.T"]; *got != want {
			t.Errorf("%s: %+v, want %+v", code, *got, want)
		}
	}
	for _, c := range []struct {
		s   typeSize
		too bool
	}{
		{typeSize{fields: mostFields, methods: mostMethods, state: true}, false},
		{typeSize{fields: mostFields + 1, state: true}, true},
		{typeSize{methods: mostMethods + 1, state: true}, true},
		{typeSize{fields: mostFields + 1}, false},
	} {
		if c.s.tooLarge() != c.too {
			t.Errorf("%+v: too large is %v, want %v", c.s, c.s.tooLarge(), c.too)
		}
	}
}
