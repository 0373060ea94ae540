package casefile

import "slices"

// RungID is the short, stable name of a rung of the repair ladder.
type RungID string

// The rungs, the least work first.
const (
	RungFluid      RungID = "fluid"
	RungAdaptation RungID = "adaptation"
	RungControl    RungID = "valve body"
	RungConverter  RungID = "converter"
	RungUnit       RungID = "unit"
	RungOther      RungID = "other"
)

// Rung is one step of the repair ladder: what is done, what each result means, and whose rule it
// is.
type Rung struct {
	ID     RungID
	Do     string
	Means  string
	Source string
}

// LadderLimit is what no paper may leave out beside the ladder.
const LadderLimit = "The readings cannot choose between the rungs: shudder looks the same from the diagnostic socket, whichever part makes it. The maker's procedure decides."

// Ladder are the rungs. After each one the same passes are driven again.
var Ladder = []Rung{
	{RungFluid,
		"Fill the fluid that the maker names, and exchange all of it: converter, cooler and lines too.",
		"Gone and stays gone: the fluid was it. Back after weeks: old fluid stayed inside, or it is the wrong one. No change: next rung.",
		"a maker's service procedure of 1997: old fluid left in brings shudder back; SAE 2003-01-1983 and 2003-01-3254: fluid matters most; TSB-03-23-006: a later fluid differs in friction"},
	{RungAdaptation,
		"Drive the maker's adaptation, then the same passes again.",
		"Shift quality and shudder count only once adaptation is done. Still there: next rung.",
		"a maker's bulletin 03-40-003 (2003): not before adaptation is done; 05-004/12: slip is learnt again over 3 to 4 rounds"},
	{RungControl,
		"Test line pressure and the control of the converter clutch: solenoid, valve body, wiring.",
		"A fault found there explains the shudder before any large part does. None found: next rung.",
		"a maker's service text of 1997: a converter only after all hydraulic and electrical diagnosis; another of 2002: codes, then line pressure, then stall speed"},
	{RungConverter,
		"Replace the torque converter; flush cooler and lines, and look into the pan.",
		"Gone: the clutch in it or its lining was it. A converter is not replaced for dark or smelling fluid alone, nor for mileage alone.",
		"a maker's service text of 1997"},
	{RungUnit,
		"Rebuild or replace the transmission.",
		"Last, where metal, lining or coolant in the fluid shows damage beyond the converter.",
		"common practice, no source"},
	{RungOther,
		"Another repair, in your own words.",
		"The same passes again show what it did.",
		"common practice, no source"},
}

// Row is the rung of a name; nil when there is none.
func (id RungID) Row() *Rung {
	if i := slices.IndexFunc(Ladder, func(r Rung) bool { return r.ID == id }); i >= 0 {
		return &Ladder[i]
	}
	return nil
}

// Next is the first rung that is not done yet; nil past the last.
func (c *Case) Next() *Rung {
	done := -1
	for i := range c.Repairs {
		done = max(done, slices.IndexFunc(Ladder, func(r Rung) bool { return r.ID == c.Repairs[i].Rung && r.ID != RungOther }))
	}
	if next := done + 1; next < len(Ladder)-1 {
		return &Ladder[next]
	}
	return nil
}
