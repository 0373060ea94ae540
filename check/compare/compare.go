// Package compare lays two code checks side by side: what is new, gone, unchanged and changed,
// and what one of them did not read.
package compare

import (
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/check"
)

// What is what became of something from one check to the next.
type What string

// The changes.
const (
	New       What = "new"
	Gone      What = "gone"
	Unchanged What = "unchanged"
	Changed   What = "changed"
	NotRead   What = "not read"
)

// Change is something in two checks: a code, a self-test, a test result, a count.
type Change struct {
	ECU     string   `json:"ecu"`
	Name    string   `json:"name,omitempty"` // of the ECU
	Code    string   `json:"code,omitempty"` // or
	Item    string   `json:"item,omitempty"`
	What    What     `json:"what"`
	Was     string   `json:"was,omitempty"`
	Is      string   `json:"is,omitempty"` // states, as "stored" or "pending, permanent"
	Text    string   `json:"text,omitempty"`
	Note    string   `json:"note,omitempty"`    // Reasons in words
	Reasons []Reason `json:"reasons,omitempty"` // why a check says nothing of a code
}

// SameCar is whether two checks are of one car.
type SameCar string

// The answers.
const (
	Same       SameCar = "yes"
	CannotTell SameCar = "cannot tell"
	TwoCars    SameCar = "NO: two identification numbers"
)

// Side is which check one side of a comparison is.
type Side struct {
	File string    `json:"file,omitempty"`
	Time time.Time `json:"time"`
	VIN  string    `json:"vin,omitempty"`
}

// Comparison is two checks side by side.
type Comparison struct {
	Before   Side     `json:"before"`
	After    Side     `json:"after"`
	Reversed bool     `json:"order_reversed,omitempty"` // the second check is the older one
	SameCar  SameCar  `json:"same_car"`
	Changes  []Change `json:"changes"` // of codes
	Others   []Change `json:"others"`  // of what else the ECUs keep, only where it changed
	Notes    []Note   `json:"notes,omitempty"`
}

// Checks compares two checks. What one of them did not read is neither new nor gone.
func Checks(before, after *check.Report) *Comparison {
	c := &Comparison{
		Before: Side{Time: before.Time, VIN: before.VIN}, After: Side{Time: after.Time, VIN: after.VIN},
		Reversed: after.Time.Before(before.Time), Changes: []Change{}, Others: []Change{},
	}
	c.car(before, after)
	if before.Time.Equal(after.Time) && !before.Time.IsZero() {
		c.note(Note{Kind: SameMoment})
	}
	if before.BrokeOff != nil {
		c.note(Note{Kind: BrokeOff, Time: First, At: before.BrokeOff})
	}
	if after.BrokeOff != nil {
		c.note(Note{Kind: BrokeOff, Time: Second, At: after.BrokeOff})
	}
	c.codes(before, after)
	for i := range after.ECUs {
		if e := before.Find(after.ECUs[i].ID); e != nil {
			c.Others = append(c.Others, others(e, &after.ECUs[i])...)
		}
	}
	c.note(cleared(before, after)...)
	c.note(missing(before, after, Second)...)
	c.note(missing(after, before, First)...)
	c.note(testsOpen(after)...)
	return c
}

func (c *Comparison) note(notes ...Note) { c.Notes = append(c.Notes, notes...) }

// car compares the identification numbers: by their digests where both were made with the key of
// one case, else as far as neither is masked. A masked one still has its first eleven characters.
func (c *Comparison) car(before, after *check.Report) {
	a, b := c.Before.VIN, c.After.VIN
	keyA, digestA, _ := strings.Cut(before.VINDigest, ":")
	keyB, digestB, _ := strings.Cut(after.VINDigest, ":")
	oneKey := keyA == keyB && digestA != "" && digestB != ""
	switch n := shown(a, b); {
	case oneKey && digestA == digestB:
		c.SameCar = Same
	case oneKey:
		c.SameCar = TwoCars
		c.note(Note{Kind: NotOneCar})
	case n == 0:
		c.SameCar = CannotTell
		c.note(Note{Kind: NoVIN})
	case a[:n] != b[:n]:
		c.SameCar = TwoCars
		c.note(Note{Kind: NotOneCar})
	case n < len(a) || n < len(b):
		c.SameCar = CannotTell
		c.note(Note{Kind: MaskedVIN})
	default:
		c.SameCar = Same
	}
}

// shown is how many first characters of two numbers neither masks.
func shown(a, b string) int {
	n := min(len(a), len(b))
	for _, vin := range []string{a, b} {
		if i := strings.IndexByte(vin, '*'); i >= 0 {
			n = min(n, i)
		}
	}
	return n
}

// SameConnection takes it that both checks were made over one connection, so of one car,
// whatever is masked. Two whole numbers that differ stay two cars.
func (c *Comparison) SameConnection() {
	if c.SameCar == TwoCars {
		return
	}
	c.SameCar = Same
	c.Notes = slices.DeleteFunc(c.Notes, func(n Note) bool { return n.Kind == MaskedVIN || n.Kind == NoVIN })
}
