package report

import (
	"encoding/hex"
	"html/template"
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/pids/identity"
	"github.com/judder-obd/judder/prose"
)

// Options are what is settled before a paper is made.
type Options struct {
	Stage   casefile.Stage // which of the two papers
	VIN     bool           // show the identification number whole
	Sheet   string         // "A4" or "Letter" sets the size of a printed page; "" leaves it to the printer
	Now     time.Time
	Program string
}

// Paper is a paper as values: the front page, then what is behind it.
type Paper struct {
	Title     string
	Sheet     string
	Front     []Section
	Technical []Section
	Phone     []string // the paper in at most 20 lines for a phone call
}

// Section is a heading with what is below it, in the order of the fields.
type Section struct {
	Title    string
	Text     []string // paragraphs
	Facts    []Fact
	List     []string
	Pictures []Picture
	Tables   []Table
	Plain    string // text in lines, as a terminal shows it
	Loud     bool   // the answer
}

// Fact is a name and what it is. Without a value there is a line to write on.
type Fact struct{ Name, Value string }

// Picture is a drawing or a photo, with the words for who cannot see it.
type Picture struct {
	SVG     template.HTML // escaped by who drew it; or
	JPEG    []byte
	Alt     string
	Caption string
}

// Table is a table with a caption; the first cell of a row names it.
type Table struct {
	Caption string
	Head    []string
	Rows    [][]string
}

// Make makes a paper of a case.
func Make(e *casefile.Evidence, o Options) *Paper {
	if o.Stage == casefile.Before {
		e = beforeWork(e)
	}
	e = eachOnce(e)
	w := &writer{e: e, o: o, answer: answerOf(e, o.Stage)}
	p := &Paper{Title: w.title(), Sheet: o.Sheet, Front: w.front(), Technical: w.technical()}
	p.Phone = (&phone{w}).lines()
	p.each(w.clean())
	return p
}

// beforeWork is the evidence as it was before the work, whenever the paper is made.
func beforeWork(e *casefile.Evidence) *casefile.Evidence {
	b := &casefile.Evidence{Case: e.Case}
	b.Case.Repairs = nil
	for _, d := range e.Drives {
		if d.File.Stage == casefile.Before {
			b.Drives = append(b.Drives, d)
		}
	}
	for _, c := range e.Checks {
		if c.File.Stage == casefile.Before {
			b.Checks = append(b.Checks, c)
		}
	}
	for _, p := range e.Photos {
		if p.File.Stage == casefile.Before {
			b.Photos = append(b.Photos, p)
		}
	}
	for _, h := range e.Hashes {
		if h.File.Stage == casefile.Before {
			b.Hashes = append(b.Hashes, h)
		}
	}
	return b
}

// writer makes the sections of a paper.
type writer struct {
	e      *casefile.Evidence
	o      Options
	answer Answer
}

func (w *writer) title() string {
	title := "Before the work"
	if w.o.Stage == casefile.After {
		title = "After the work"
	}
	if name := w.e.Case.Car.Name; name != "" {
		title += ": " + name
	}
	return title
}

// each shows every text of a paper to look, which may change it.
func (p *Paper) each(look func(*string)) {
	look(&p.Title)
	for i := range p.Phone {
		look(&p.Phone[i])
	}
	for _, part := range [][]Section{p.Front, p.Technical} {
		for i := range part {
			part[i].each(look)
		}
	}
}

func (s *Section) each(look func(*string)) {
	look(&s.Title)
	lines := strings.Split(s.Plain, "\n")
	for i := range lines {
		look(&lines[i])
	}
	s.Plain = strings.Join(lines, "\n")
	for _, list := range [][]string{s.Text, s.List} {
		for i := range list {
			look(&list[i])
		}
	}
	for i := range s.Facts {
		look(&s.Facts[i].Name)
		look(&s.Facts[i].Value)
	}
	for i := range s.Pictures {
		look(&s.Pictures[i].Alt)
		look(&s.Pictures[i].Caption)
		lines := strings.Split(string(s.Pictures[i].SVG), "\n")
		for k := range lines {
			look(&lines[k])
		}
		s.Pictures[i].SVG = template.HTML(strings.Join(lines, "\n")) // its texts were escaped; masking adds no markup
	}
	for i := range s.Tables {
		look(&s.Tables[i].Caption)
		for _, row := range append([][]string{s.Tables[i].Head}, s.Tables[i].Rows...) {
			for k := range row {
				look(&row[k])
			}
		}
	}
}

// clean makes a text fit for a paper: no character that steers anything, and no identification
// number that is not asked for, in letters or in hexadecimal.
func (w *writer) clean() func(*string) {
	mask := w.mask()
	return func(s *string) {
		*s = strings.Map(func(r rune) rune {
			if prose.Steers(r) {
				return '\uFFFD'
			}
			return r
		}, strings.ToValidUTF8(*s, "\uFFFD"))
		*s = mask.Replace(*s)
	}
}

// mask masks the identification numbers that are not asked for, in letters and in hexadecimal.
func (w *writer) mask() *strings.Replacer {
	var pairs []string
	if w.o.VIN {
		return strings.NewReplacer()
	}
	for _, vin := range w.vins() {
		masked := identity.MaskVIN(vin)
		asHex, maskedHex := hex.EncodeToString([]byte(vin)), hex.EncodeToString([]byte(masked))
		pairs = append(pairs, vin, masked, strings.ToLower(vin), masked, strings.ToUpper(asHex), strings.ToUpper(maskedHex), asHex, maskedHex)
	}
	return strings.NewReplacer(pairs...)
}

// vins are the identification numbers that the case holds whole.
func (w *writer) vins() (list []string) {
	add := func(vin string) {
		if len(vin) == 17 && !strings.Contains(vin, "*") && !slices.Contains(list, vin) {
			list = append(list, vin)
		}
	}
	add(strings.ToUpper(w.e.Case.Car.VIN))
	for i := range w.e.Drives {
		add(w.e.Drives[i].Header.VIN)
	}
	for i := range w.e.Checks {
		if r := w.e.Checks[i].Report; r != nil {
			add(r.VIN)
			for k := range r.ECUs {
				add(r.ECUs[k].VIN)
			}
		}
	}
	return list
}
