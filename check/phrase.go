package check

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"sync"
)

// phrase is a value and its words. The words may have places: {text}, {n}, {of}, {id} (two hex
// digits) and {refusal}.
type phrase[K comparable] struct {
	kind  K
	words string
}

// slots are what the places of a phrase hold.
type slots struct {
	Text     string
	N, Of    int
	ID, Code byte
}

// fill writes words with their places filled.
func (s slots) fill(words string) string {
	if !strings.Contains(words, "{") {
		return words
	}
	return strings.NewReplacer("{text}", s.Text, "{n}", strconv.Itoa(s.N), "{of}", strconv.Itoa(s.Of),
		"{id}", fmt.Sprintf("%02X", s.ID), "{refusal}", refusalText(s.Code)).Replace(words)
}

// phrases write values as words and read them back by one table. The first row of a value
// writes it; the first row that fits reads.
type phrases[K comparable] struct {
	rows    []phrase[K]
	compile func() []*regexp.Regexp
}

func newPhrases[K comparable](rows []phrase[K]) *phrases[K] {
	p := &phrases[K]{rows: rows}
	p.compile = sync.OnceValue(func() []*regexp.Regexp {
		out := make([]*regexp.Regexp, len(rows))
		for i := range rows {
			out[i] = regexp.MustCompile("(?s)^" + places.Replace(regexp.QuoteMeta(rows[i].words)) + "$")
		}
		return out
	})
	return p
}

// places are what reads the places of a phrase. A refusal is read by its number, so that its
// words may change.
var places = strings.NewReplacer(`\{text\}`, `(?P<text>.*)`, `\{n\}`, `(?P<n>\d+)`, `\{of\}`, `(?P<of>\d+)`,
	`\{id\}`, `(?P<id>[0-9A-F]{2})`, `\{refusal\}`, `.*\b(?P<code>[0-9A-F]{2})\)?`)

func (p *phrases[K]) write(kind K, s slots) string {
	for i := range p.rows {
		if p.rows[i].kind == kind {
			return s.fill(p.rows[i].words)
		}
	}
	return ""
}

// read finds the value of words; the zero value where no row fits.
func (p *phrases[K]) read(text string) (kind K, s slots) {
	if text == "" {
		return kind, s
	}
	for i, re := range p.compile() {
		found := re.FindStringSubmatch(text)
		if found == nil {
			continue
		}
		for g, name := range re.SubexpNames() {
			s.set(name, found[g])
		}
		return p.rows[i].kind, s
	}
	return kind, s
}

// set fills one place. Numbers fit: the pattern has digits only, and one that is too long is 0.
func (s *slots) set(place, text string) {
	switch place {
	case "text":
		s.Text = text
	case "n":
		s.N, _ = strconv.Atoi(text)
	case "of":
		s.Of, _ = strconv.Atoi(text)
	case "id":
		n, _ := strconv.ParseUint(text, 16, 8)
		s.ID = byte(n)
	case "code":
		n, _ := strconv.ParseUint(text, 16, 8)
		s.Code = byte(n)
	}
}
