package table

import (
	"io"
	"strings"
)

// WriteWide writes one column a signal, with its unit in the heading, and the columns mark and event;
// [Import] reads it. See [Grid.Rows] for the rows.
func (s *Sheet) WriteWide(w io.Writer, style Style) error {
	g := NewGrid(s)
	out := newWriter(w, style)
	row := []string{"time_s"}
	for _, c := range g.Signals {
		name := asText(c.Name)
		if c.Unit != "" {
			name += " [" + onOneLine(c.Unit) + "]"
		}
		row = append(row, name)
	}
	out.write(append(row, "mark", "event"))
	for r := range g.Rows() {
		row = append(row[:0], out.seconds(r.At))
		for _, v := range r.Values {
			row = append(row, out.value(v))
		}
		out.write(append(row, asText(r.Mark), asText(r.Event)))
		if out.err != nil {
			break
		}
	}
	return out.close()
}

// asText puts an apostrophe before what a spreadsheet takes for a formula: a recording may come from
// anywhere (OWASP, CSV Injection).
func asText(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}
