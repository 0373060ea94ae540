package main

import (
	"go/ast"
	"go/token"
	"path"
	"regexp"
	"slices"
	"strconv"
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

// searched finds every place that looks for something.
func (c *sentenceCode) searched() (places []place) {
	for i := range c.files {
		f := &c.files[i]
		for _, d := range f.syntax.Decls {
			over := overTables(d)
			ast.Inspect(d, func(n ast.Node) bool {
				wanted, whole := lookedFor(n)
				for _, e := range wanted {
					look := lookup{code: c, file: f, over: over, whole: whole}
					look.into(e)
					places = append(places, place{f, e.Pos(), look.texts, whole})
				}
				return true
			})
		}
	}
	return places
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

// lookup gathers the texts that an expression may hold.
type lookup struct {
	code  *sentenceCode
	file  *goFile
	over  map[string]ast.Expr
	whole bool // compared as a whole
	texts []string
}

func (l *lookup) into(e ast.Expr) {
	switch e := e.(type) {
	case *ast.BasicLit:
		l.literal(e)
	case *ast.ParenExpr:
		l.into(e.X)
	case *ast.BinaryExpr:
		if e.Op == token.ADD {
			l.into(e.X)
			l.into(e.Y)
		}
	case *ast.CallExpr: // a conversion, or the format of a Sprintf
		if len(e.Args) > 0 {
			if s, ok := e.Fun.(*ast.SelectorExpr); !ok || s.Sel.Name == "Sprintf" {
				l.into(e.Args[0])
			}
		}
	case *ast.Ident:
		if table := l.code.table(l.file.dir, l.over[e.Name]); table != nil {
			l.column(table, "")
		} else {
			l.constant(e, l.file.dir+"."+e.Name)
		}
	case *ast.SelectorExpr:
		if dir, ok := l.file.imported(e.X); ok {
			l.constant(e, dir+"."+e.Sel.Name)
		} else if of, ok := e.X.(*ast.Ident); ok {
			if table := l.code.table(l.file.dir, l.over[of.Name]); table != nil {
				l.column(table, e.Sel.Name)
			}
		}
	}
}

// verb is a verb of package fmt.
var verb = regexp.MustCompile(`%[^a-zA-Z%]*[a-zA-Z%]`)

func (l *lookup) literal(b *ast.BasicLit) {
	if b.Kind != token.STRING {
		return
	}
	l.code.looked[b] = true
	l.texts = append(l.texts, verb.Split(unquoted(b), -1)...)
}

func (l *lookup) constant(e ast.Expr, name string) {
	value, ok := l.code.consts[name]
	if !ok || l.whole && l.code.typed[name] {
		return
	}
	l.code.looked[e] = true
	if text, ok := l.code.text(value); ok {
		l.texts = append(l.texts, text)
	}
}

// column gathers what a field has in the rows of a table; without a field, the rows.
func (l *lookup) column(table *ast.CompositeLit, field string) {
	at := l.code.fieldIndex(l.file.dir, table, field)
	for _, row := range table.Elts {
		if kv, ok := row.(*ast.KeyValueExpr); ok {
			row = kv.Value
		}
		cells, ok := row.(*ast.CompositeLit)
		if field == "" || !ok {
			if field == "" {
				l.into(row)
			}
			continue
		}
		for i, cell := range cells.Elts {
			if kv, ok := cell.(*ast.KeyValueExpr); ok {
				if name, ok := kv.Key.(*ast.Ident); ok && name.Name == field {
					l.into(kv.Value)
				}
			} else if i == at {
				l.into(cell)
			}
		}
	}
}

// table is the composite literal that an expression is or names.
func (c *sentenceCode) table(dir string, e ast.Expr) *ast.CompositeLit {
	switch e := e.(type) {
	case *ast.CompositeLit:
		return e
	case *ast.Ident:
		return c.tables[dir+"."+e.Name]
	default:
		return nil
	}
}

// fieldIndex is where a field is in the rows of a table, −1 when that is not seen.
func (c *sentenceCode) fieldIndex(dir string, table *ast.CompositeLit, field string) int {
	array, ok := table.Type.(*ast.ArrayType)
	if !ok {
		return -1
	}
	element := array.Elt
	if name, ok := element.(*ast.Ident); ok {
		element = c.types[dir+"."+name.Name]
	}
	row, ok := element.(*ast.StructType)
	if !ok {
		return -1
	}
	at := 0
	for _, f := range row.Fields.List {
		for _, name := range f.Names {
			if name.Name == field {
				return at
			}
			at++
		}
	}
	return -1
}

// text is the value of a constant made of literals.
func (c *sentenceCode) text(e ast.Expr) (string, bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		return unquoted(e), e.Kind == token.STRING
	case *ast.BinaryExpr:
		a, _ := c.text(e.X)
		b, _ := c.text(e.Y)
		return a + b, true
	default:
		return "", false
	}
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
		ours, ok := strings.CutPrefix(strings.Trim(s.Path.Value, `"`), "judder/")
		if ok && (s.Name == nil && path.Base(ours) == name.Name || s.Name != nil && s.Name.Name == name.Name) {
			return ours, true
		}
	}
	return "", false
}

func unquoted(b *ast.BasicLit) string {
	text, err := strconv.Unquote(b.Value)
	if err != nil {
		return ""
	}
	return text
}
