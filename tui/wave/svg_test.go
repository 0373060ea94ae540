package wave

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strings"
	"testing"
	"time"
)

// parsed is what an XML parser finds in a picture.
type parsed struct {
	names  []string
	text   map[string]string // of title and desc
	labels []string
}

func parse(t *testing.T, picture string) (p parsed) {
	t.Helper()
	p.text = map[string]string{}
	d, in := xml.NewDecoder(strings.NewReader(picture)), ""
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return p
		}
		if err != nil {
			t.Fatalf("no XML: %v\n%s", err, picture)
		}
		switch x := token.(type) {
		case xml.StartElement:
			in = x.Name.Local
			p.names = append(p.names, in)
			for _, a := range x.Attr {
				if strings.HasPrefix(a.Name.Local, "on") || strings.Contains(a.Value, "script") || strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") {
					t.Errorf("%s has %s=%q", in, a.Name.Local, a.Value)
				}
			}
		case xml.CharData:
			if s := strings.TrimSpace(string(x)); s != "" {
				p.text[in] += s
				p.labels = append(p.labels, s)
			}
		case xml.EndElement:
			in = ""
		}
	}
}

const nasty = `</text><script>alert("x")</script>&lt;` + "\x00\x1b[31m" + `'"]]>`

func count(p *parsed, name string) (n int) {
	for _, s := range p.names {
		if s == name {
			n++
		}
	}
	return n
}

func clock(d time.Duration) string { return d.String() }

func TestSVG(t *testing.T) {
	c := cutOf(50, 2, func(s float64) float64 { return burst(2, 2, 5)(s) + 380*max(0, min((s-5.05)/0.3, 1)) })
	c.Throttle = []Reading{{0, 18}, {time.Second, math.NaN()}, {2 * time.Second, 19}}
	var tr Trace
	tr.Follow(&c)
	var b strings.Builder
	if err := tr.SVG(&b, &c, RoundReach(tr.Reach, c.AlarmRPM), &About{nasty, nasty, clock, "e1"}); err != nil {
		t.Fatal(err)
	}
	p := parse(t, b.String())
	if p.names[0] != "svg" || count(&p, "script") != 0 || count(&p, "title") != 1 || count(&p, "desc") != 1 {
		t.Errorf("elements %q", p.names)
	}
	if !strings.Contains(p.text["title"], "<script>") || strings.ContainsAny(p.text["title"], "\x00\x1b") {
		t.Errorf("the title reads %q", p.text["title"])
	}
	all := strings.Join(p.labels, "|")
	for _, want := range []string{"+60 rpm", "0 rpm", "-60 rpm", "alarm at 60 rpm peak to peak", "5 to 30 %", "not read", "time of the drive; a line every 1 s"} {
		if !strings.Contains(all, want) {
			t.Errorf("no %q among %q", want, all)
		}
	}
	if count(&p, "path") != 2 || count(&p, "circle") != 0 {
		t.Errorf("%d lines and %d points; wave and throttle are lines", count(&p, "path"), count(&p, "circle"))
	}
}

// Where readings are too few there is no line, and the picture says so.
func TestSVG_TooFew(t *testing.T) {
	c := cutOf(8, 2, burst(2, 2, 6))
	var tr Trace
	tr.Follow(&c)
	var b strings.Builder
	if err := tr.SVG(&b, &c, 60, &About{"t", "d", clock, ""}); err != nil {
		t.Fatal(err)
	}
	p := parse(t, b.String())
	if count(&p, "path") != 0 || count(&p, "circle") != len(tr.Points) || !strings.Contains(strings.Join(p.labels, "|"), TooFew) {
		t.Errorf("%d lines, %d points of %d", count(&p, "path"), count(&p, "circle"), len(tr.Points))
	}
}

func TestStrip(t *testing.T) {
	d := Drive{Length: 8 * time.Second, RPM: drive(50, 8*time.Second, burst(2, 2, 6)), Stretches: []Stretch{
		{0, 7 * time.Second, Usable, ""}, {2 * time.Second, 6 * time.Second, Shudder, ""}, {3 * time.Second, 3 * time.Second, Felt, ""}, {4 * time.Second, 4 * time.Second, Note, nasty}}}
	for _, x := range []Drive{d, {}, {Length: time.Hour, RPM: []Reading{{0, math.NaN()}}}} {
		var b strings.Builder
		if err := Strip(&b, &x, &About{nasty, "d", clock, ""}); err != nil {
			t.Fatal(err)
		}
		p := parse(t, b.String())
		if count(&p, "script") != 0 || count(&p, "rect") != 1+len(x.Stretches) {
			t.Errorf("%d boxes for %d stretches", count(&p, "rect"), len(x.Stretches))
		}
	}
}
