package cause

import (
	"fmt"
	"strings"
	"time"

	"github.com/judder-obd/judder/prose"
)

// wordsOf makes the words of a line of each rule, without its times.
var wordsOf = [ruleCount]func(l *Line) string{
	NoRule:           fixed(""),
	StoppedAtRelease: stoppedWords("clutch released"),
	WentOnAtRelease:  func(l *Line) string { return fmt.Sprintf("clutch released: shook on, %s", l.share()) },
	StoppedAtFull:    stoppedWords("full throttle"),
	StoppedAtLift:    stoppedWords("throttle closed"),
	StoppedInLower:   stoppedWords("lower gear, same road speed"),
	WentOnInLower:    func(l *Line) string { return fmt.Sprintf("lower gear, same road speed: shook on, %s", l.share()) },
	SlipSwung: func(l *Line) string {
		if l.Named != "" {
			return fmt.Sprintf("slip (est.) swung %.0f rpm", l.Value)
		}
		return fmt.Sprintf("converter slip swung %.0f rpm", l.Value)
	},
	CruiseLightWarm: func(l *Line) string {
		if l.Named != "" {
			return "seen in cruise, at light throttle, coolant temperature not read, " + l.share()
		}
		return "seen warm, in cruise, at light throttle, " + l.share()
	},
	ClutchOpenCold: func(l *Line) string { return "coolant below 54 °C, the clutch mostly still open, " + l.share() },
	LowGearsOnly:   func(l *Line) string { return "only in first or second gear, " + l.share() },
	NoReleaseTried: fixed("clutch release in a shudder (touch of the brake)"),
	CountRose: func(l *Line) string {
		return fmt.Sprintf("misfire counts rose by %.0f, cylinder %s most", l.Value, l.Named)
	},
	CountsQuiet: func(l *Line) string {
		if l.Of == 0 {
			return "no misfire count rose"
		}
		return "no misfire count rose in a shudder, " + l.share()
	},
	CountsUnread: func(l *Line) string {
		if l.Named != "" {
			return "misfire counts: this car gives none"
		}
		return "misfire counts"
	},
	MisfireCode:   func(l *Line) string { return l.Named + " stored (misfire)" },
	NoMisfireCode: fixed("code check: no misfire code"),
	RoughRunning:  func(l *Line) string { return fmt.Sprintf("rough running, %s in all", prose.Duration(l.For)) },
	SurgeSeen: func(l *Line) string {
		return fmt.Sprintf("slow surge, %.0f rpm, %s in all", l.Value, prose.Duration(l.For))
	},
	TrimMoved: func(l *Line) string {
		return fmt.Sprintf("fuel trim %s moved %.0f %% in it", l.Named, l.Value)
	},
	TrimSteady:  func(l *Line) string { return "fuel trim steady, " + l.share() },
	TrimsUnread: fixed("fuel trims"),
	HuntingSeen: func(l *Line) string { return fmt.Sprintf("gear hunting, steps of %.0f rpm", l.Value) },
	CyclingSeen: func(l *Line) string { return fmt.Sprintf("lock-up cycling, steps of %.0f rpm", l.Value) },
	GearSteady:  func(l *Line) string { return "one gear reported, so no gear hunting, " + l.share() },
	GearUnread:  fixed("gear (none was read)"),
	FeltNotSeen: func(l *Line) string {
		return "felt with engine speed steady (as friction shudder may be), " + l.share()
	},
	FeltInNeutral:    func(l *Line) string { return "felt in a neutral coast, " + l.share() },
	NotFeltInNeutral: func(l *Line) string { return "nothing felt in a neutral coast, " + l.share() },
	NoNeutralTried:   fixed("neutral coast at that speed"),
	FeltAtLift:       func(l *Line) string { return "felt as the throttle closed, " + l.share() },
	FeltInPark:       func(l *Line) string { return "felt in park at engine speed, " + l.share() },
	NotFeltInPark:    func(l *Line) string { return "nothing felt in park at engine speed, " + l.share() },
	NoParkSweep:      fixed("slow sweep of engine speed in park"),
	MountsUnseen:     fixed("mounts and joints, by hand"),
}

func fixed(words string) func(*Line) string { return func(*Line) string { return words } }

func stoppedWords(what string) func(l *Line) string {
	return func(l *Line) string {
		return fmt.Sprintf("%s: stopped within %.1f s, %s", what, l.For.Seconds(), l.share())
	}
}

// share is "3 of 3"; "1 time" where there is no whole.
func (l *Line) share() string { return fmt.Sprintf("%d of %d", l.N, l.Of) }

// mostTimes is how many times a line names before it says how many more there are.
const mostTimes = 3

// Words are the line for a person, with up to three times of the drive.
func (l *Line) Words() string {
	if int(l.Rule) >= len(wordsOf) {
		return ""
	}
	words := wordsOf[l.Rule](l)
	if len(l.At) == 0 {
		return words
	}
	return words + " (" + times(l.At) + ")"
}

func times(at []time.Duration) string {
	var b strings.Builder
	for i, t := range at[:min(len(at), mostTimes)] {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(prose.Clock(t))
	}
	if more := len(at) - mostTimes; more > 0 {
		fmt.Fprintf(&b, " and %d more", more)
	}
	return b.String()
}

var ruleNames = [ruleCount]string{
	NoRule: "none", StoppedAtRelease: "stopped at clutch release", WentOnAtRelease: "went on at clutch release",
	StoppedAtFull: "stopped at full throttle", StoppedAtLift: "stopped at throttle lift", StoppedInLower: "stopped in lower gear",
	WentOnInLower: "went on in lower gear", SlipSwung: "slip swung", CruiseLightWarm: "warm light cruise",
	ClutchOpenCold: "clutch open when cold", LowGearsOnly: "low gears only", NoReleaseTried: "no clutch release",
	CountRose: "misfire count rose", CountsQuiet: "no misfire count rose", CountsUnread: "misfire counts not read",
	MisfireCode: "misfire code", NoMisfireCode: "no misfire code", RoughRunning: "rough running", SurgeSeen: "slow surge",
	TrimMoved: "fuel trim moved", TrimSteady: "fuel trim steady", TrimsUnread: "fuel trims not read", HuntingSeen: "gear hunting",
	CyclingSeen: "lock-up cycling", GearSteady: "gear steady", GearUnread: "gear not read", FeltNotSeen: "felt, not seen",
	FeltInNeutral: "felt in neutral", NotFeltInNeutral: "not felt in neutral", NoNeutralTried: "no neutral coast",
	FeltAtLift: "felt at throttle lift", FeltInPark: "felt in park", NotFeltInPark: "not felt in park", NoParkSweep: "no park sweep",
	MountsUnseen: "mounts not examined",
}

// String is the rule's name, for machines.
func (r Rule) String() string {
	if int(r) >= len(ruleNames) {
		return ruleNames[NoRule]
	}
	return ruleNames[r]
}

var testNames = [testCount]string{
	NoTest: "none", Reproduce: "reproduce", TapBrake: "clutch release", TapMore: "more clutch releases", CheckCodes: "code check",
	CoastNeutral: "neutral coast", LowerTheGear: "lower gear", SweepInPark: "park sweep", LookAtMounts: "mounts",
}

// String is the test's name, for machines.
func (t Test) String() string {
	if int(t) >= len(testNames) {
		return testNames[NoTest]
	}
	return testNames[t]
}

var testWords = [testCount]string{
	NoTest:       "",
	Reproduce:    "drive at the speed, load and temperature of the complaint until it shows",
	TapBrake:     "at the next shudder keep the throttle and touch the brake just enough for the lights; does it stop?",
	TapMore:      "touch the brake in every second shudder, until there are three with and three without",
	CheckCodes:   "stand still and read codes and misfire counts",
	CoastNeutral: "where traffic permits, go above the speed of the shake, select neutral and coast through it; is it still there?",
	LowerTheGear: "hold the same road speed in a lower gear; does it follow engine speed or road speed?",
	SweepInPark:  "in park with the brakes held, raise engine speed slowly through that of the shake",
	LookAtMounts: "look at engine mounts, joints and half-shafts by the maker's procedure",
}

// Words are what to do, for a person; "" when there is nothing.
func (t Test) Words() string {
	if int(t) >= len(testWords) {
		return ""
	}
	return testWords[t]
}

// Words are the frequencies side by side, for a person.
func (x *Frequency) Words() string {
	tyre := fmt.Sprintf("tyre %.1f to %.1f Hz", x.TyreLowHz, x.TyreHighHz)
	if x.TyreLowHz == x.TyreHighHz {
		tyre = fmt.Sprintf("tyre %.1f Hz", x.TyreLowHz)
	}
	if x.ShaftHz > 0 {
		tyre += fmt.Sprintf(", propshaft %.1f Hz", x.ShaftHz)
	}
	return fmt.Sprintf("%s  shudder %.1f Hz; at that speed %s, half engine order (one cylinder) %.1f Hz", prose.Clock(x.At), x.Hz, tyre, x.HalfHz)
}
