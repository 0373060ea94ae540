package check

import (
	"github.com/judder-obd/judder/pids/refusal"
)

// Kind is what became of something that the check asked for.
type Kind uint8

// The kinds. Silent to MapSilent are all silence; they differ in what follows from it.
const (
	NotAsked          Kind = iota // nothing is known of it
	Read                          // whole
	NotSupported                  // and nothing says otherwise
	MaybeNotKept                  // silence to service 0A, which came late: the ECU may keep no such list
	Refused                       // with the code of ISO 14229-1 in Code
	Silent                        // no answer
	SilentNotNone                 // an ECU on CAN answers even when it has none (SAE J1979)
	SilentToAll                   // silent to the next question as well: the ignition may be off
	SilentToClaim                 // the ECU claims to support it
	MapSilent                     // whether the ECU has any is not known
	Damaged                       // something came, and not whole
	Pending                       // the ECU said "wait" until the end
	Misdirected                   // another ECU answered: the adapter does not ask the one it should
	AnsweredElse                  // the answer belongs to no question
	AnsweredOther                 // the answer is for another code
	FewerAnswered                 // N of Of ECUs without names answered; in files of the first version
	Mixed                         // several ECUs answered and the adapter hides which: one may be missing
	FewerReported                 // N codes came, the ECU counts Of stored ones
	FewerListed                   // N codes came, the ECU counts Of by status
	BrokenOff                     // not asked: the check broke off
	BrokenOffHere                 // the check broke off in the middle of this
	BrokenOffEarlier              // the check broke off before this
	Interrupted                   // by the user
	NotOnSuccessor                // not asked of a car after SAE J1979-2
	NotOnThisBus                  // the bus does not carry it
	MapMissing                    // whether the ECU supports it is not known
	MeaningUnknown                // read, but no table has it
	Partial                       // what a frame holds was not reported whole
	OtherVIN                      // another number than the first
	NoStatusBits                  // the ECU's availability mask is 00
	NoCurrentBit                  // the ECU does not separate current from history
	OnlyWaits                     // not asked, because the ECU only says "wait"
	TooMany                       // not asked of N codes: Of at most are
	ModuleMisdirected             // not asked, as the next four: another ECU answers at this address
	ModuleOnOldBus                // no ECU has an address of its own on the bus in Text
	ModuleNameless                // the adapter hides who answers
	ModuleOtherCAN                // an address of the other kind of CAN
	ModuleRefused                 // the adapter refuses the address
	Worded                        // in Text, the words of an error or of the adapter
)

// Outcome is what became of something that the check asked for. It is a value until it is
// printed; in JSON it has the words of outcomePhrases, which read it back.
type Outcome struct {
	Kind  Kind
	Code  byte // of a refusal
	N, Of int
	Text  string
}

// Of is an outcome that needs no more than its kind.
func Of(k Kind) Outcome { return Outcome{Kind: k} }

// RefusedWith is a refusal (ISO 14229-1).
func RefusedWith(code byte) Outcome { return Outcome{Kind: Refused, Code: code} }

// Unsupported reports whether a refusal says no more than that the ECU does not have it
// (ISO 14229-1: 11 service, 12 sub-function, 31 out of range).
func (o Outcome) Unsupported() bool {
	return o.Kind == Refused && (o.Code == 0x11 || o.Code == 0x12 || o.Code == 0x31)
}

// outcomePhrases are the words of outcomes in JSON, to write and to read: those of the first
// version, which others may rely on. Words has others, for people. {refusal} is the text of a
// refusal, {n} and {of} are numbers.
var outcomePhrases = newPhrases([]phrase[Kind]{
	{Read, "read"},
	{NotSupported, "not supported"},
	{MaybeNotKept, "no answer; whether such a list is kept is not known"},
	{Refused, "refused: {refusal}"},
	{Silent, "no answer"},
	{Silent, "silent"},
	{SilentNotNone, "no answer, which is not the same as none"},
	{SilentToAll, "no answer, nor to what was asked next: is the ignition on?"},
	{SilentToClaim, "no answer, though it is supported"},
	{MapSilent, "no answer; whether it tells any is not known"},
	{Damaged, "damaged"},
	{Pending, "still pending"},
	{Misdirected, "answered by another computer"},
	{AnsweredElse, "it answered something else than it was asked"},
	{AnsweredOther, "an answer for another code"},
	{FewerAnswered, "{n} of {of} computers answered"},
	{Mixed, "several computers answered, and this adapter hides which: one may be missing"},
	{FewerReported, "{n} told, though the computer counts {of}"},
	{FewerListed, "{n} listed, though the computer counts {of}"},
	{BrokenOff, "not asked: the check broke off"},
	{BrokenOffHere, "the check broke off in the middle of this"},
	{BrokenOffEarlier, "the check broke off before this"},
	{Interrupted, "interrupted"},
	{NotOnSuccessor, "not asked of a car after SAE J1979-2: how it tells them is not known here"},
	{NotOnThisBus, "not told on this bus: they came with CAN"},
	{MapMissing, "not known whether this computer tells them: its map of what it supports did not come"},
	{MeaningUnknown, "what it means is not known here; the raw replies hold it"},
	{Partial, "what it holds was not told whole"},
	{OtherVIN, "this computer tells another number than the first; it may come from another car"},
	{NoStatusBits, "this computer says that no bit of it means anything (availability mask 00); the codes are listed all the same"},
	{NoCurrentBit, "this computer does not tell current from history"},
	{OnlyWaits, `not asked, because this computer only says "wait"`},
	{TooMany, "not asked of {n} codes: {of} at most are"},
	{ModuleMisdirected, "not asked: another computer answers in its place, because this adapter does not do what it is told of addresses; another adapter is needed"},
	{ModuleOnOldBus, "not asked: on this bus ({text}) no computer can be asked by its own address; the maker's tool is needed"},
	{ModuleNameless, "not asked: this adapter hides which computer speaks; another adapter is needed"},
	{ModuleOtherCAN, "not asked: its address is of another kind of CAN than this car's (three digits: 11 bits, two or eight: 29 bits)"},
	{ModuleRefused, "not asked: this adapter refuses to ask one computer by its address; another adapter is needed"},
	{Worded, "{text}"},
})

// String is the outcome as JSON has it.
func (o Outcome) String() string {
	return outcomePhrases.write(o.Kind, o.slots())
}

// slots are what fills the places of a phrase.
func (o Outcome) slots() slots {
	return slots{Text: o.Text, N: o.N, Of: o.Of, Code: o.Code}
}

// MarshalText writes an outcome as JSON has it.
func (o Outcome) MarshalText() ([]byte, error) { return []byte(o.String()), nil }

// UnmarshalText reads what MarshalText writes, also of older versions.
func (o *Outcome) UnmarshalText(text []byte) error {
	kind, s := outcomePhrases.read(string(text))
	*o = Outcome{Kind: kind, Code: s.Code, N: s.N, Of: s.Of, Text: s.Text}
	return nil
}

// refusalText are the words of a refusal.
func refusalText(code byte) string { return refusal.Text(code) }
