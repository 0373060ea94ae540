package main

import (
	"go/ast"
	"go/token"
	"regexp"
	"strconv"
)

// lookup gathers the texts that an expression may hold.
type lookup struct {
	code  *sentenceCode
	file  *goFile
	over  map[string]ast.Expr
	whole bool // compared as a whole
	texts []string
	names []string // that hold more texts, if they are parameters
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
			l.names = append(l.names, e.Name)
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

func unquoted(b *ast.BasicLit) string {
	text, err := strconv.Unquote(b.Value)
	if err != nil {
		return ""
	}
	return text
}
