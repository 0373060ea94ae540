package page

import "judder/check"

// outcomes are the words of outcomes on the page, where they differ from those in JSON.
var outcomes = map[check.Kind]string{
	check.MaybeNotKept:      "no answer; this control unit may keep no such list",
	check.SilentNotNone:     "no answer; that does not mean that there are none",
	check.SilentToAll:       "no answer, nor to the next question: is the ignition on?",
	check.SilentToClaim:     "no answer, though the control unit supports it",
	check.MapSilent:         "no answer; whether the control unit has any is not known",
	check.Damaged:           "the reply was damaged",
	check.Pending:           `the control unit only said "wait"`,
	check.Misdirected:       "another control unit answered",
	check.AnsweredElse:      "the answer was to another question",
	check.AnsweredOther:     "the answer was for another code",
	check.FewerAnswered:     "{n} of {of} control units answered",
	check.Mixed:             "several control units answered and this adapter hides which: one may be missing",
	check.FewerReported:     "{n} listed, but the control unit counts {of}",
	check.FewerListed:       "{n} listed, but the control unit counts {of}",
	check.BrokenOff:         "not asked: the check stopped early",
	check.BrokenOffHere:     "the check stopped in the middle of this",
	check.BrokenOffEarlier:  "the check stopped before this",
	check.NotOnSuccessor:    "not asked of a car built to SAE J1979-2: judder cannot read them there",
	check.NotOnThisBus:      "this bus does not carry them: they came with CAN",
	check.MapMissing:        "not known whether the control unit has them: its list of what it supports is missing",
	check.MeaningUnknown:    "read, but judder does not know what it means; the raw replies hold it",
	check.Partial:           "its contents are incomplete",
	check.OtherVIN:          "this control unit reports another number than the first; it may come from another car",
	check.NoStatusBits:      "this control unit reports that no bit of it means anything (availability mask 00); the codes are listed all the same",
	check.NoCurrentBit:      "this control unit does not separate current codes from history",
	check.OnlyWaits:         `not asked, because this control unit only says "wait"`,
	check.TooMany:           "not asked for {n} codes: judder asks for {of} at most",
	check.ModuleMisdirected: "not asked: another control unit answers at this address, because the adapter ignores addresses; use another adapter",
	check.ModuleOnOldBus:    "not asked: on this bus ({text}) no control unit has an address of its own; use the maker's tool",
	check.ModuleNameless:    "not asked: this adapter hides which control unit answers; use another adapter",
	check.ModuleOtherCAN:    "not asked: this address does not fit the car's CAN (three digits: 11 bits, two or eight: 29 bits)",
	check.ModuleRefused:     "not asked: this adapter refuses to ask one control unit by its address; use another adapter",
}

// items are the words of items on the page, where they differ from those in JSON.
var items = map[check.ItemKind]string{
	check.StepModules:      "further modules",
	check.ItemInfoMap:      "what identification there is, map {id}",
	check.ItemCalibrations: "calibration ids",
}

func outcomeText(o check.Outcome) string {
	if words, ok := outcomes[o.Kind]; ok {
		return o.In(words)
	}
	return o.String()
}

// Item is an item in words.
func Item(i check.Item) string { return itemText(i) }

func itemText(i check.Item) string {
	if words, ok := items[i.Kind]; ok {
		return i.In(words)
	}
	return i.String()
}

func noteText(n check.Note) string {
	switch {
	case n.Item.Kind == check.NoItem:
		return outcomeText(n.Outcome)
	case n.Outcome.Kind == check.NotAsked:
		return itemText(n.Item)
	}
	return itemText(n.Item) + ": " + outcomeText(n.Outcome)
}
