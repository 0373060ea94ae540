package triage

import (
	"strings"

	"github.com/judder-obd/judder/check"
)

// The rules: a short id each, which stays as it is when the words change.
const (
	RuleCharging      check.Rule = "charging"
	RuleBattery       check.Rule = "battery"
	RuleOvervoltage   check.Rule = "overvoltage"
	RuleSupplyCodes   check.Rule = "supply-codes"
	RuleCheckAgain    check.Rule = "check-again"
	RuleReadAgain     check.Rule = "read-again"
	RuleOtherAdapter  check.Rule = "refused-length"
	RuleRefused       check.Rule = "refused"
	RuleFreezeAlone   check.Rule = "freeze-without-code"
	RuleNameless      check.Rule = "no-names"
	RuleClearedLately check.Rule = "cleared-lately"
	RuleTestsOpen     check.Rule = "tests-open"
	RuleBusOff        check.Rule = "bus-off"
	RuleCutOff        check.Rule = "cut-off"
	RuleLostItself    check.Rule = "lost-itself"
	RuleLostAnswers   check.Rule = "lost-answers"
	RuleLost          check.Rule = "lost"
	RuleMisfire       check.Rule = "misfire"
	RuleEngine        check.Rule = "engine"
	RuleCounts        check.Rule = "misfire-counts"
	RuleFailedTest    check.Rule = "failed-test"
	RulePresent       check.Rule = "present"
	RuleTransmission  check.Rule = "transmission"
	RuleLockUpClutch  check.Rule = "lock-up-clutch"
	RuleClutchPast    check.Rule = "lock-up-clutch-past"
	RuleLamp          check.Rule = "lamp"
	RulePermanent     check.Rule = "permanent"
	RuleHistory       check.Rule = "history"
	RuleLostPast      check.Rule = "lost-past"
	RuleUnclear       check.Rule = "unclear"
	RuleSilent        check.Rule = "silent"
	RuleFront         check.Rule = "front-damage"
)

// practice is the source of rules that no text was found for.
const practice = "common practice, no source"

// Published service procedures and articles behind the rules, as far as they may be named
// without naming a maker.
const (
	publishedOrder = "published transmission diagnosis procedure: other codes first, then transmission codes, then the converter"
	publishedLost  = "published service bulletins on lost-communication codes"
	standardStatus = "ISO 14229-1, status of a trouble code"
	standardPerm   = "SAE J1979, service 0A"
	standardReady  = "SAE J1979, monitor status"
	standardRefuse = "ISO 14229-1, refusals"
)

// row is the words of a rule. Places in braces are filled by the rule; {codes} and {ecus} are
// always there.
type row struct{ do, why, source string }

// What several rules say.
const (
	falseFaults = "a low supply makes control units report faults that they do not have"
	driveFirst  = "Drive until the self-tests have run before you trust an empty list"
	passesOn    = "a misfire under load feels like converter shudder: the locked clutch passes it on, and on a drive the two feel the same"
)

var rows = map[check.Rule]row{
	RuleCharging: {"Check the charging system first: {volts} V at the diagnostic socket with the engine running",
		"below 13 V the alternator does not charge, or a regulated one is resting; " + falseFaults, practice},
	RuleBattery: {"Charge and test the battery first: {volts} V at the diagnostic socket", falseFaults, practice},
	RuleOvervoltage: {"Check the charging voltage first: {volts} V at the diagnostic socket",
		"a high supply damages and misleads control units", practice},
	RuleSupplyCodes: {"Check battery, charging and grounds first: {codes}", "supply faults bring other codes with them", practice},

	RuleCheckAgain: {"Run this check again: it stopped early ({at})", "what was not asked may still hold codes", practice},
	RuleReadAgain: {"Read the codes again before you trust this list: it is incomplete from {lists}",
		"silence, damage or a refusal is not an empty list, and a control unit that counts more codes than it lists has others", "SAE J1979, service 03; ISO 14229-1, service 19 01"},
	RuleOtherAdapter: {"Read the codes of {ecus} with another adapter ({lists})",
		"it calls the request too short or too long: this adapter may have cut it", standardRefuse},
	RuleRefused: {"Read the codes of {ecus} in another way (the maker's tool): it refuses to report them ({lists}){but}",
		"a refusal is not an empty list, and asking again brings the same refusal", standardRefuse + "; " + standardReady},
	RuleFreezeAlone: {"Look for {codes}: {ecus} keeps its freeze frame, but no list has the code",
		"a freeze frame is stored with its code and cleared with it", "SAE J1979, service 02"},
	RuleNameless: {"Use another adapter before you blame a control unit: this one hides which of them answers",
		"replies of several control units come without addresses: their codes, counts and freeze frames cannot be separated, and long replies may be mixed", "ELM327 data sheet, AT H1"},

	RuleClearedLately: {driveFirst, "codes were cleared {ago} ago: little can be concluded", standardReady},
	RuleTestsOpen:     {driveFirst + "; not complete: {tests}", "a self-test that has not run finds nothing{km}", standardReady},

	RuleBusOff: {"Check the bus itself before any single module: {placed}; wires, connectors, terminating resistors, then unplug one module after the other, by the maker's procedure",
		"a bus-off code points at the wiring or at the module that disturbs the bus, not at the one that reports it, and it brings lost-communication codes with it", publishedLost},
	RuleCutOff: {"Check the connection of {ecus} first: its power, ground and bus wires; it alone has lost {n} others ({codes})",
		"when many lose one, that one is silent; when one loses many, it is cut off itself{but}", practice},
	RuleLostItself: {"Find out which control unit {codes} means: {ecus} reports the code, and the code names {ecus} itself (maker's list of control units)",
		"a control unit cannot lose itself: it means another one, or a time when it was cut off", practice},
	RuleLostAnswers: {"Check the wires between {ecus} and {named}: {ecus} reports {named} lost ({codes}), but {named} answers now",
		"a control unit that answers is not dead: the fault comes and goes, or is between the two", practice},
	RuleLost: {"Check {what}: its power, ground and bus wires; not {who}, which only reports the loss",
		"a lost-communication code points at the module that went silent, not at the one that reports it", publishedLost},

	RuleMisfire: {"Do not look for shudder today; repair the engine's misfire, fuel and air codes before the converter: {codes}", passesOn, publishedOrder},
	RuleEngine:  {"Repair the engine's misfire, fuel and air codes before you judge the converter: {codes}", passesOn, publishedOrder},
	RuleCounts: {"Compare the misfire counts of the cylinders: {counts}",
		"a single count is no evidence of a misfire; counts depend on how long and how the car was driven", practice},
	RuleFailedTest: {"Look into test results outside their limits: {tests}",
		"a result outside its limits may come before its code: many monitors store a code only at the second failure", "SAE J1979, service 06"},
	RulePresent: {"Work on what else is present: {placed}", "current comes before pending, pending before history", standardStatus},

	RuleTransmission: {"Then the transmission's codes: {codes}", "transmission codes come after the engine's, and before you judge the converter{but}", publishedOrder},
	RuleLockUpClutch: {"Converter clutch and what controls it: {codes}; read the freeze frames, check fluid level, colour and smell by the maker's procedure",
		"P0740 to P0744 and P2756 to P2770 are about the clutch itself; fluid temperature, speed signals and the brake switch decide whether it is applied at all; while one of these codes is present the car may keep it released, and then no shudder shows on a drive", practice},
	RuleClutchPast: {"Ask what was done about the converter clutch and what controls it: {stated}; none of these is reported as present",
		"a past code shows that it happened, not that it still does; see on a drive whether it comes back", standardStatus},
	RuleLamp: {"Find out why the malfunction lamp is commanded on: {ecus} reported no stored code",
		"a lamp without a code: the code is where this check does not read, or another control unit asked for the lamp; read all control units with the maker's tool", standardReady},
	RulePermanent: {"Write down the permanent codes: {codes}",
		"no tool can clear them; they go when the car itself has proved the repair. It has not yet: see on a drive whether the fault is gone", standardPerm},
	RuleHistory: {"Note the history codes, and see whether they come back: {codes}", "their last test passed, or has not run since", standardStatus},
	RuleLostPast: {"Replace nothing for {codes}",
		"a lost-communication code that is only history also comes from a low battery, cranking or a module once unplugged", publishedLost},
	RuleUnclear: {"Find out whether these faults are present or past: {placed}",
		"their control unit does not report whether the last test failed; above they count as present, and replacing a part needs more evidence than that", standardStatus + ", availability mask"},
	RuleSilent: {"Find out whether the car has these at all (wiring diagram, maker's list of control units), then ask again with the ignition on: {modules}",
		"no answer from there: not fitted, another address, asleep, behind a security gateway, dead, out of reach of this adapter, or replying at an address that is not 8 above (a vehicle profile can give it); judder cannot tell which", practice},
	RuleFront: {"Look for earlier front damage",
		"a code of air flow or shutter ({codes}) together with {n} history codes of lost communication: a hint, not a finding", practice},
}

// advise makes the line of a rule. words are places and what fills them, by turns.
func advise(rule check.Rule, codes []string, ecus []*check.ECU, words ...string) check.Advice {
	var ids, called []string
	for _, e := range ecus {
		ids, called = append(ids, e.ID), append(called, e.Called())
	}
	fill := strings.NewReplacer(append(words, "{codes}", strings.Join(codes, ", "), "{ecus}", strings.Join(called, ", "))...)
	r := rows[rule]
	return check.Advice{Rule: rule, Codes: codes, ECUs: ids, Do: fill.Replace(r.do), Why: fill.Replace(r.why), Source: r.source}
}

// one is the list of a single line.
func one(a check.Advice) []check.Advice { return []check.Advice{a} }
