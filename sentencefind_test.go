package main

import (
	"go/ast"
	"go/token"
	"path"
	"slices"
	"strings"
)

// searchFunctions are the functions of strings and bytes whose second argument is looked for.
var searchFunctions = []string{
	"Contains", "Count", "Cut", "CutPrefix", "CutSuffix", "EqualFold", "HasPrefix", "HasSuffix", "Index", "LastIndex",
	"Replace", "ReplaceAll", "Split", "SplitAfter", "SplitN", "TrimPrefix", "TrimSuffix",
}

// sentenceCode is the code as the search for sentences knows it: by syntax, names resolved
// within a package as far as that needs no types.
type sentenceCode struct {
	files  []goFile
	consts map[string]ast.Expr          // "folder.name": the value of a constant
	typed  map[string]bool              // "folder.name": a constant of a type of its own, a value like any other
	tables map[string]*ast.CompositeLit // "folder.name": the value of a variable
	types  map[string]ast.Expr          // "folder.name"
	looked map[ast.Node]bool            // literals and names that are looked for, which write nothing
}

// place is a search or a comparison, with all the texts that it may look for.
type place struct {
	file  *goFile
	pos   token.Pos
	texts []string
	whole bool // compared as a whole
}

func newSentenceCode(files []goFile) *sentenceCode {
	c := &sentenceCode{
		files: files, consts: map[string]ast.Expr{}, typed: map[string]bool{}, tables: map[string]*ast.CompositeLit{},
		types: map[string]ast.Expr{}, looked: map[ast.Node]bool{},
	}
	for i := range files {
		for _, d := range files[i].syntax.Decls {
			if g, ok := d.(*ast.GenDecl); ok {
				for _, s := range g.Specs {
					c.declare(files[i].dir, g.Tok, s)
				}
			}
		}
	}
	return c
}

func (c *sentenceCode) declare(dir string, tok token.Token, s ast.Spec) {
	switch s := s.(type) {
	case *ast.TypeSpec:
		c.types[dir+"."+s.Name.Name] = s.Type
	case *ast.ValueSpec:
		for i, name := range s.Names {
			if i >= len(s.Values) {
				break
			}
			if tok == token.CONST {
				c.looked[name] = true
				c.consts[dir+"."+name.Name] = s.Values[i]
				c.typed[dir+"."+name.Name] = s.Type != nil
			} else if table, ok := s.Values[i].(*ast.CompositeLit); ok {
				c.tables[dir+"."+name.Name] = table
			}
		}
	}
}

// searched finds every place that looks for something: a search, and a call that hands a text
// to a function that searches for it.
func (c *sentenceCode) searched() (places []place) {
	handed := map[parameter]bool{} // parameters that a function searches for
	for {
		known := len(handed)
		places = places[:0]
		for i := range c.files {
			places = append(places, c.searchedIn(&c.files[i], handed)...)
		}
		if len(handed) == known {
			return places
		}
	}
}

// parameter is one parameter of a function or a method of a package.
type parameter struct {
	function string // "folder.name"
	index    int
}

func (c *sentenceCode) searchedIn(f *goFile, handed map[parameter]bool) (places []place) {
	for _, d := range f.syntax.Decls {
		over := overTables(d)
		ast.Inspect(d, func(n ast.Node) bool {
			wanted, whole := lookedFor(n)
			if call, ok := n.(*ast.CallExpr); ok {
				wanted = append(wanted, handedTo(f, call, handed)...)
			}
			for _, e := range wanted {
				look := lookup{code: c, file: f, over: over, whole: whole}
				look.into(e)
				places = append(places, place{f, e.Pos(), look.texts, whole})
				if whole {
					continue
				}
				for _, name := range look.names {
					if i := parameterIndex(d, name); i >= 0 {
						handed[parameter{f.dir + "." + d.(*ast.FuncDecl).Name.Name, i}] = true
					}
				}
			}
			return true
		})
	}
	return places
}

// handedTo are the arguments of a call that the function called searches for.
func handedTo(f *goFile, call *ast.CallExpr, handed map[parameter]bool) (wanted []ast.Expr) {
	name := ""
	switch fun := call.Fun.(type) {
	case *ast.Ident:
		name = f.dir + "." + fun.Name
	case *ast.SelectorExpr:
		name = f.dir + "." + fun.Sel.Name
		if dir, ok := f.imported(fun.X); ok {
			name = dir + "." + fun.Sel.Name
		}
	}
	for i, a := range call.Args {
		if handed[parameter{name, i}] {
			wanted = append(wanted, a)
		}
	}
	return wanted
}

// parameterIndex is where a function has a parameter of that name, −1 when it has none.
func parameterIndex(d ast.Decl, name string) int {
	f, ok := d.(*ast.FuncDecl)
	if !ok {
		return -1
	}
	at := 0
	for _, field := range f.Type.Params.List {
		for _, n := range field.Names {
			if n.Name == name {
				return at
			}
			at++
		}
	}
	return -1
}

// lookedFor is what a piece of syntax looks for: the second argument of a search, a side of a
// comparison, a case of a switch.
func lookedFor(n ast.Node) (wanted []ast.Expr, whole bool) {
	switch n := n.(type) {
	case *ast.CallExpr:
		s, ok := n.Fun.(*ast.SelectorExpr)
		if !ok || len(n.Args) < 2 || !slices.Contains(searchFunctions, s.Sel.Name) {
			return nil, false
		}
		if of, ok := s.X.(*ast.Ident); ok && (of.Name == "strings" || of.Name == "bytes") {
			return n.Args[1:2], false
		}
	case *ast.BinaryExpr:
		if n.Op == token.EQL || n.Op == token.NEQ {
			return []ast.Expr{n.X, n.Y}, true
		}
	case *ast.CaseClause:
		return n.List, true
	}
	return nil, false
}

// overTables maps a name to the table that it runs over: by range, or as the parameter of a function
// that is given to one of package slices.
func overTables(d ast.Decl) map[string]ast.Expr {
	over := map[string]ast.Expr{}
	ast.Inspect(d, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.RangeStmt:
			if v, ok := n.Value.(*ast.Ident); ok {
				over[v.Name] = n.X
			}
		case *ast.CallExpr:
			if len(n.Args) != 2 {
				break
			}
			f, ok := n.Args[1].(*ast.FuncLit)
			if ok && len(f.Type.Params.List) == 1 && len(f.Type.Params.List[0].Names) == 1 {
				over[f.Type.Params.List[0].Names[0].Name] = n.Args[0]
			}
		}
		return true
	})
	return over
}

// written lists the texts that the code holds for anything else than to look for them: its
// literals, and its constants that are used.
func (c *sentenceCode) written() (texts []string) {
	inConstant := map[ast.Node]bool{} // counts where the constant is used
	for _, value := range c.consts {
		ast.Inspect(value, func(n ast.Node) bool {
			if b, ok := n.(*ast.BasicLit); ok {
				inConstant[b] = true
			}
			return true
		})
	}
	used := map[string]bool{}
	for i := range c.files {
		f := &c.files[i]
		ast.Inspect(f.syntax, func(n ast.Node) bool {
			if c.looked[n] {
				return false
			}
			switch n := n.(type) {
			case *ast.ImportSpec:
				return false
			case *ast.Field:
				if n.Tag != nil {
					c.looked[n.Tag] = true
				}
			case *ast.BasicLit:
				if n.Kind == token.STRING && !inConstant[n] {
					texts = append(texts, unquoted(n))
				}
			case *ast.Ident:
				used[f.dir+"."+n.Name] = true
			case *ast.SelectorExpr:
				if dir, ok := f.imported(n.X); ok {
					used[dir+"."+n.Sel.Name] = true
				}
			}
			return true
		})
	}
	for name, value := range c.consts {
		if text, ok := c.text(value); ok && used[name] {
			texts = append(texts, text)
		}
	}
	return texts
}

// imported is the folder of our package that an expression names.
func (f *goFile) imported(e ast.Expr) (dir string, ok bool) {
	name, ok := e.(*ast.Ident)
	if !ok {
		return "", false
	}
	for _, s := range f.syntax.Imports {
		ours, ok := strings.CutPrefix(strings.Trim(s.Path.Value, `"`), "github.com/judder-obd/judder/")
		if ok && (s.Name == nil && path.Base(ours) == name.Name || s.Name != nil && s.Name.Name == name.Name) {
			return ours, true
		}
	}
	return "", false
}
