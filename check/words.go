package check

// outcomeWords are the words of outcomes for people, where they differ from those in JSON.
var outcomeWords = map[Kind]string{
	MaybeNotKept:      "no answer; this control unit may keep no such list",
	SilentNotNone:     "no answer; that does not mean that there are none",
	SilentToAll:       "no answer, nor to the next question: is the ignition on?",
	SilentToClaim:     "no answer, though the control unit supports it",
	MapSilent:         "no answer; whether the control unit has any is not known",
	Damaged:           "the reply was damaged",
	Pending:           `the control unit only said "wait"`,
	Misdirected:       "another control unit answered",
	AnsweredElse:      "the answer was to another question",
	AnsweredOther:     "the answer was for another code",
	FewerAnswered:     "{n} of {of} control units answered",
	Mixed:             "several control units answered and this adapter hides which: one may be missing",
	FewerReported:     "{n} listed, but the control unit counts {of}",
	FewerListed:       "{n} listed, but the control unit counts {of}",
	BrokenOff:         "not asked: the check stopped early",
	BrokenOffHere:     "the check stopped in the middle of this",
	BrokenOffEarlier:  "the check stopped before this",
	NotOnSuccessor:    "not asked of a car built to SAE J1979-2: judder cannot read them there",
	NotOnThisBus:      "this bus does not carry them: they came with CAN",
	MapMissing:        "not known whether the control unit has them: its list of what it supports is missing",
	MeaningUnknown:    "read, but judder does not know what it means; the raw replies hold it",
	Partial:           "its contents are incomplete",
	OtherVIN:          "this control unit reports another number than the first; it may come from another car",
	NoStatusBits:      "this control unit reports that no bit of it means anything (availability mask 00); the codes are listed all the same",
	NoCurrentBit:      "this control unit does not separate current codes from history",
	OnlyWaits:         `not asked, because this control unit only says "wait"`,
	TooMany:           "not asked for {n} codes: judder asks for {of} at most",
	ModuleMisdirected: "not asked: another control unit answers at this address, because the adapter ignores addresses; use another adapter",
	ModuleOnOldBus:    "not asked: on this bus ({text}) no control unit has an address of its own; use the maker's tool",
	ModuleNameless:    "not asked: this adapter hides which control unit answers; use another adapter",
	ModuleOtherCAN:    "not asked: this address does not fit the car's CAN (three digits: 11 bits, two or eight: 29 bits)",
	ModuleRefused:     "not asked: this adapter refuses to ask one control unit by its address; use another adapter",
}

// itemWords are the words of items for people, where they differ from those in JSON.
var itemWords = map[ItemKind]string{
	StepModules:      "further modules",
	ItemInfoMap:      "what identification there is, map {id}",
	ItemCalibrations: "calibration ids",
}

// Words is the outcome in words for people.
func (o Outcome) Words() string {
	if words, ok := outcomeWords[o.Kind]; ok {
		return o.slots().fill(words)
	}
	return o.String()
}

// Words is the item in words for people.
func (i Item) Words() string {
	if words, ok := itemWords[i.Kind]; ok {
		return i.slots().fill(words)
	}
	return i.String()
}

// Words is the note in words for people.
func (n Note) Words() string {
	switch {
	case n.Item.Kind == NoItem:
		return n.Outcome.Words()
	case n.Outcome.Kind == NotAsked:
		return n.Item.Words()
	}
	return n.Item.Words() + ": " + n.Outcome.Words()
}
