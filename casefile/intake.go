package casefile

import (
	"cmp"
	"strings"

	"github.com/judder-obd/judder/session/complaint"
)

// Question is one line asked at the counter. Any may stay without an answer.
type Question struct {
	Ask     string
	Example string
	Answer  func(*Complaint) *string // where the answer goes
	Driven  bool                     // drives are compared with the answer, where judder can read it
}

// Intake are the questions, in the order in which they are asked: how the customer puts it, then
// six. The trade asks for speed, load and temperature first (trade press on shudder diagnosis; a
// maker's interview list).
var Intake = []Question{
	{"What do you feel, in your own words?", "hums like a rumble strip", func(c *Complaint) *string { return &c.Words }, false},
	{"At what speed, from-to?", "60-70 km/h", func(c *Complaint) *string { return &c.Speed }, true},
	{"With how much throttle?", "light, medium or heavy", func(c *Complaint) *string { return &c.Load }, true},
	{"With the engine cold or warm?", "warm", func(c *Complaint) *string { return &c.Engine }, true},
	{"How often?", "every trip", func(c *Complaint) *string { return &c.HowOften }, false},
	{"Since when?", "since spring", func(c *Complaint) *string { return &c.Since }, false},
	{"What was worked on lately?", "tyres in March", func(c *Complaint) *string { return &c.RecentWork }, false},
}

// Box is the complaint as a drive can meet it, and the answers that say nothing of it, such as
// "uphill". An answer that cannot be read whole is read part by part, between its commas.
func (c *Complaint) Box() (box complaint.Box, unread []string) {
	for i := range Intake {
		answer := *Intake[i].Answer(c)
		if answer == "" || !Intake[i].Driven {
			continue
		}
		parts := []string{answer}
		if _, err := complaint.Parse(answer); err != nil {
			parts = strings.Split(answer, ",")
		}
		for _, part := range parts {
			if part = strings.TrimSpace(part); part == "" {
				continue
			}
			if one, err := complaint.Parse(part); err != nil || !fill(&box, one) {
				unread = append(unread, part)
			}
		}
	}
	return box, unread
}

// fill puts what another part of a complaint says into a box; false where the box has something else.
func fill(box *complaint.Box, one complaint.Box) bool {
	whole := *box
	if one.HasSpeed() && !box.HasSpeed() {
		whole.FromKMH, whole.ToKMH = one.FromKMH, one.ToKMH
	}
	whole.Load, whole.Engine, whole.Gear = cmp.Or(box.Load, one.Load), cmp.Or(box.Engine, one.Engine), cmp.Or(box.Gear, one.Gear)
	if one.HasSpeed() && (whole.FromKMH != one.FromKMH || whole.ToKMH != one.ToKMH) || one.Load != "" && whole.Load != one.Load ||
		one.Engine != "" && whole.Engine != one.Engine || one.Gear != 0 && whole.Gear != one.Gear {
		return false
	}
	*box = whole
	return true
}

// IsZero reports whether the customer said nothing yet.
func (c *Complaint) IsZero() bool { return *c == Complaint{} }

// Sentence is the complaint in one line, in the customer's words.
func (c *Complaint) Sentence() string {
	var parts []string
	for i := range Intake {
		if answer := *Intake[i].Answer(c); answer != "" {
			parts = append(parts, answer)
		}
	}
	return strings.Join(parts, "; ")
}
