package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// AnswerKind is what a paper may say of the shudder.
type AnswerKind string

// The kinds of answers.
const (
	NoDrive      AnswerKind = "no drive"      // of this stage is part of the case
	CouldNotShow AnswerKind = "could not"     // the drives could show nothing
	NeverMet     AnswerKind = "never met"     // the conditions of the complaint were not driven
	Shown        AnswerKind = "shown"         // shudder in passes of the complaint
	Elsewhere    AnswerKind = "elsewhere"     // shudder, and none in the complaint
	NotShown     AnswerKind = "not shown"     // passes enough, and no shudder
	TooFew       AnswerKind = "too few"       // quiet passes, and fewer than clear a car
	FeltOnly     AnswerKind = "felt only"     // quiet passes, and it was felt
	Unclear      AnswerKind = "unclear"       // quiet passes enough, and something else forbids to clear the car
	Gone         AnswerKind = "gone"          // after the work, and chance is unlikely
	NotProved    AnswerKind = "not proved"    // after the work quiet, and chance could do that
	StillThere   AnswerKind = "still there"   // after the work
	StillFelt    AnswerKind = "still felt"    // after the work, and not seen
	NotAlike     AnswerKind = "not alike"     // the drives before and after were made in other ways
	TwoCars      AnswerKind = "two cars"      // the files may be of two cars
	Reversed     AnswerKind = "reversed"      // a drive after the work is earlier than one before it
	NothingToBe  AnswerKind = "nothing to be" // after the work quiet, and before it nothing was shown
)

// Answer is the answer of a paper as facts.
type Answer struct {
	Kind AnswerKind
	In   conditions
	Pair session.Pair // in the paper after the work: the drives of both sides
	now  tally        // of the paper's own stage

	stage     casefile.Stage
	elsewhere string // road speeds of all steady passes of that stage
	unread    int    // drives of that stage that could not be read
}

// answerOf weighs the drives of a case for a paper. What changed is weighed as session.Compare does.
func answerOf(e *casefile.Evidence, stage casefile.Stage) Answer {
	box, _ := e.Case.Complaint.Box()
	first, second := resultsOf(e, casefile.Before), resultsOf(e, casefile.After)
	a := Answer{In: conditions{box: box}, stage: stage}
	for i := range e.Drives {
		if d := &e.Drives[i]; d.Err != nil && d.File.Stage == stage {
			a.unread++
		}
	}
	if stage == casefile.Before {
		a.take(first)
		a.Kind = before(&a.now)
		return a
	}
	a.Pair = session.Compare(first, second, box)
	if a.In.box = a.Pair.Complaint; a.In.box.IsZero() && first != nil {
		a.In.pair = &a.Pair
	}
	a.take(second)
	a.Kind = a.after()
	if w := (&writer{e: e}); a.Kind == Gone && w.twoCars() {
		a.Kind = TwoCars
	}
	return a
}

// take counts the drives of the paper's own stage, and where they were driven.
func (a *Answer) take(drives []*session.Result) {
	a.In.driven = drivenAt(drives, a.In.hold)
	a.elsewhere = drivenAt(drives, func(*session.Pass) bool { return true })
	a.now = count(drives, a.In)
}

func before(t *tally) AnswerKind {
	enough := func(passes int, judged time.Duration) bool {
		return passes >= session.EnoughPasses && judged >= session.EnoughJudged
	}
	switch {
	case t.drives == 0:
		return NoDrive
	case t.shudders > 0:
		return Shown
	case t.events > 0:
		return Elsewhere
	case t.passes > 0 && t.felt > 0:
		return FeltOnly
	case enough(t.clearPasses, t.clear):
		return NotShown
	case enough(t.passes, t.judged):
		return Unclear
	case t.passes > 0:
		return TooFew
	case t.smallest > 0:
		return NeverMet
	}
	return CouldNotShow
}

func (a *Answer) after() AnswerKind {
	switch {
	case a.now.drives == 0:
		return NoDrive
	case a.Pair.Finding == session.NothingToCompare && a.now.passes > 0: // none before
		if a.now.felt > 0 {
			return StillFelt
		}
		return NothingToBe
	case a.Pair.Finding == session.NothingToCompare && a.now.smallest > 0:
		return NeverMet
	case (a.Pair.Finding == session.NothingBefore || a.Pair.Finding == session.NotAlike) && a.now.felt > 0:
		return StillFelt
	}
	return map[session.PairFinding]AnswerKind{
		session.NothingToCompare: CouldNotShow, session.NothingBefore: NothingToBe, session.StillThere: StillThere,
		session.StillFelt: StillFelt, session.TooBlunt: CouldNotShow, session.NotShown: NotProved, session.Gone: Gone,
		session.NotAlike: NotAlike, session.TwoCars: TwoCars, session.Reversed: Reversed,
	}[a.Pair.Finding]
}

// Words are the answer in one sentence, or two short ones.
func (a *Answer) Words() string {
	t := &a.now
	where := a.In.words()
	first, second := share(a.Pair.Table.Before, a.Pair.Table.BeforeOf), share(a.Pair.Table.After, a.Pair.Table.AfterOf)
	switch a.Kind {
	case NoDrive:
		const rest = " This paper has what was said, seen and read at a standstill."
		switch {
		case a.unread > 0:
			return fmt.Sprintf("No road test %s the work can be read.", a.stage) + rest
		case a.stage == casefile.After:
			return "No road test after the work is part of this case yet: whether the shudder is gone is not known." + rest
		}
		return "No road test is part of this case yet." + rest
	case CouldNotShow:
		return "The road test could not show shudder" + because(slices.Concat(a.Pair.Blind, t.unable)) + ". It neither confirms nor rules out the complaint."
	case NeverMet:
		return fmt.Sprintf("The road test had no steady pass %s%s. It neither confirms nor rules out the complaint.", where, prefixed("; driven were ", a.elsewhere))
	case Shown:
		return fmt.Sprintf("Shudder was recorded in %s %s: engine speed swung by up to %.0f rpm at a steady throttle.", share(t.shudders, t.passes), where, t.largest)
	case Elsewhere:
		if t.passes == 0 {
			return fmt.Sprintf("Shudder was recorded %s, with engine speed swinging by up to %.0f rpm, but the drives had no steady pass %s.", prose.Times(t.events), t.largest, where)
		}
		return fmt.Sprintf("Shudder was recorded %s, but in none of %s %s.", prose.Times(t.events), passesWords(t.passes), where)
	case NotShown:
		return fmt.Sprintf("No shudder was seen in %s %s; swings from %.0f rpm would mostly have shown. %s", passesWords(t.clearPasses), where, math.Ceil(t.clearFrom), friction)
	case FeltOnly:
		return fmt.Sprintf("The shake was felt %s, and no shudder was seen in engine speed in %s %s. The drives cannot rule it out.", prose.Times(t.felt), passesWords(t.passes), where)
	case Unclear:
		return fmt.Sprintf("No shudder was seen in %s %s, but the drives cannot rule it out%s.", passesWords(t.passes), where, because(t.unable))
	case TooFew:
		return fmt.Sprintf("No shudder was seen in %s %s, which is too little to say that there is none: %d passes and %.0f s are needed.", passesWords(t.passes), where, session.EnoughPasses, session.EnoughJudged.Seconds())
	case Gone:
		return fmt.Sprintf("Before the work shudder was recorded in %s, after it in %s, %s. If the work had changed nothing, luck alone would do that in %s.", first, second, where, chanceWords(a.Pair.Chance))
	case NotProved:
		return fmt.Sprintf("Before the work shudder was recorded in %s, after it in %s, %s. That is not enough to say that it is gone: %s.", first, second, where, a.moreWords())
	case NotAlike:
		return "The drives do not show whether the shudder is gone: those before and after the work are not alike. " + sentences(a.Pair.Unlike)
	case TwoCars:
		return "The drives do not show whether the shudder is gone: by their identification numbers the files are not of one car."
	case Reversed:
		return "The drives do not show whether the shudder is gone: one that counts as after the work was made before one that counts as before it."
	case StillFelt:
		return fmt.Sprintf("After the work no shudder was seen in %s %s, but the person in the car felt it %s. The drives do not show that it is gone.", passesWords(cmp.Or(a.Pair.Table.AfterOf, t.passes)), where, prose.Times(t.felt))
	case StillThere:
		if t.events == 0 { // brake taps stopped it
			return "After the work brake taps stopped shakes before they were long enough to be called shudder. The drives do not show that it is gone."
		}
		return fmt.Sprintf("Shudder was recorded %s after the work: engine speed swung by up to %.0f rpm at a steady throttle. Before the work it was in %s, after it in %s, %s.", prose.Times(t.events), t.largest, first, second, where)
	}
	return fmt.Sprintf("No shudder was seen after the work in %s %s. None was recorded in such a pass before it either, so the drives do not show that the work changed anything.", passesWords(cmp.Or(a.Pair.Table.AfterOf, t.passes)), where)
}

// friction is what no drive can rule out (computed for this project; no measured car was found).
var friction = fmt.Sprintf("Friction shudder moves engine speed by %d to %d rpm and can stay below that.", frictionLeastRPM, frictionMostRPM)

const (
	frictionLeastRPM = 3
	frictionMostRPM  = 22
)

// Felt is what the person in the car marked, where it says more than the answer; "" where not.
func (a *Answer) Felt() string {
	t := &a.now
	if t.felt == 0 {
		return ""
	}
	var parts []string
	for _, part := range []struct {
		n    int
		what string
	}{
		{t.seen, "with shudder in engine speed"},
		{t.steady, "with engine speed steady"},
		{t.feltDark, "where judder could not have seen it"},
	} {
		switch {
		case part.n == 0:
		case part.n < t.felt:
			parts = append(parts, prose.Times(part.n)+" "+part.what)
		case t.felt == 1:
			parts = append(parts, part.what)
		default:
			parts = append(parts, "each time "+part.what)
		}
	}
	text := fmt.Sprintf("The person in the car marked it %s: %s.", prose.Times(t.felt), strings.Join(parts, ", "))
	if t.steady > 0 {
		text += " " + friction
	}
	return text
}

func (a *Answer) moreWords() string {
	switch p := &a.Pair; {
	case !p.Possible:
		return "no number of quiet passes can show it with so few before the work"
	case p.More == 1:
		return "one more pass without shudder is needed " + p.Where
	default:
		return fmt.Sprintf("%d more passes without shudder are needed %s", p.More, p.Where)
	}
}

// sentences makes a sentence of each reason.
func sentences(reasons []string) string {
	var b strings.Builder
	for _, r := range reasons {
		b.WriteString(strings.ToUpper(r[:1]) + r[1:] + ". ")
	}
	return strings.TrimSpace(b.String())
}

// because is a reason in brackets, the first where several say the same.
func because(reasons []string) string {
	for _, r := range reasons {
		if r != "" {
			return " (" + strings.TrimSuffix(r, ".") + ")"
		}
	}
	return ""
}

func share(n, of int) string {
	if of == 1 {
		return fmt.Sprintf("%d of 1 steady pass", n)
	}
	return fmt.Sprintf("%d of %d steady passes", n, of)
}

func passesWords(n int) string { return prose.Count(n, "steady pass", "steady passes") }

// chanceWords are a small probability: "1 of 429 cases".
func chanceWords(p float64) string {
	if p <= 0 {
		return "next to no case"
	}
	return fmt.Sprintf("about 1 of %.0f cases (p = %.2g, Fisher's exact test)", 1/p, p)
}
