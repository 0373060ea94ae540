package check

import "strings"

// ItemKind is a kind of thing that the check asks for.
type ItemKind uint8

// The kinds of items.
const (
	NoItem     ItemKind = iota
	StepSupply          // the steps of a check
	StepIdentity
	StepCodes
	StepReadiness
	StepFreeze
	StepTests
	StepModules
	ItemStored // lists of codes
	ItemPending
	ItemPermanent
	ItemCodes // of a further module
	ItemStatus
	ItemCount
	ItemFormat
	ItemDetail // ID of service 19, of the code in Name
	ItemDetailsAfter
	ItemVIN
	ItemCalibrations
	ItemCVNs
	ItemName
	ItemPartNumber
	ItemInfoMap // maps of what is supported, at ID
	ItemParameterMap
	ItemFreezeMap
	ItemTestMap
	ItemEngineSpeed
	ItemReadiness
	ItemRegulation
	ItemWarmUps
	ItemClearedKM
	ItemClearedMinutes
	ItemOdometer
	ItemAllCounts
	ItemFreezeParameter // ID of the freeze frame
	ItemFreeze          // of the code in Name
	ItemMonitor         // test results of monitor ID
	ItemTest            // test ID of the older buses
	ItemMisfires
	ItemAllTests
	ItemModule // the one in Name
	ItemOther  // in Name
)

// Item is one thing that the check asks for.
type Item struct {
	Kind ItemKind
	ID   byte
	Name string
}

// itemPhrases are the words of items in JSON, to write and to read.
var itemPhrases = newPhrases([]phrase[ItemKind]{
	{StepSupply, "supply voltage and engine speed"},
	{StepIdentity, "identification"},
	{StepCodes, "stored, pending and permanent codes"},
	{StepReadiness, "readiness and distance since cleared"},
	{StepFreeze, "freeze frames"},
	{StepTests, "test results and misfire counters"},
	{StepModules, "further computers"},
	{ItemStored, "stored codes"},
	{ItemPending, "pending codes"},
	{ItemPermanent, "permanent codes"},
	{ItemCodes, "codes"},
	{ItemStatus, "status of codes"},
	{ItemCount, "number of codes"},
	{ItemFormat, "format of the codes"},
	{ItemDetail, "detail {id} of {text}"},
	{ItemDetailsAfter, "details of the codes after {text}"},
	{ItemVIN, "VIN"},
	{ItemCalibrations, "calibration ids"},
	{ItemCVNs, "calibration verification numbers"},
	{ItemName, "name"},
	{ItemPartNumber, "part number"},
	{ItemInfoMap, "kinds of identification, map {id}"},
	{ItemParameterMap, "parameters, map {id}"},
	{ItemFreezeMap, "freeze frame, map {id}"},
	{ItemTestMap, "test results, map {id}"},
	{ItemEngineSpeed, "engine speed"},
	{ItemReadiness, "readiness"},
	{ItemRegulation, "regulation"},
	{ItemWarmUps, "warm-ups since cleared"},
	{ItemClearedKM, "distance since cleared"},
	{ItemClearedMinutes, "time since cleared"},
	{ItemOdometer, "odometer"},
	{ItemAllCounts, "readiness, regulation and counts"},
	{ItemFreezeParameter, "freeze frame, parameter {id}"},
	{ItemFreeze, "freeze frame of {text}"},
	{ItemMonitor, "test results of monitor {id}"},
	{ItemTest, "test {id}"},
	{ItemMisfires, "misfire counts"},
	{ItemAllTests, "test results and misfire counts"},
	{ItemModule, "module {text}"},
	{ItemOther, "{text}"},
})

// String is the item as JSON has it.
func (i Item) String() string { return itemPhrases.write(i.Kind, i.slots()) }

// slots are what fills the places of a phrase.
func (i Item) slots() slots { return slots{Text: i.Name, ID: i.ID} }

func itemOf(text string) Item {
	kind, s := itemPhrases.read(text)
	return Item{Kind: kind, ID: s.ID, Name: s.Text}
}

// Note is what became of one item. Without an item it is an outcome alone.
type Note struct {
	Item    Item
	Outcome Outcome
}

// String is the note as JSON has it.
func (n Note) String() string {
	switch {
	case n.Item.Kind == NoItem:
		return n.Outcome.String()
	case n.Outcome == Outcome{}:
		return n.Item.String()
	}
	return n.Item.String() + ": " + n.Outcome.String()
}

// MarshalText writes a note as JSON has it.
func (n Note) MarshalText() ([]byte, error) { return []byte(n.String()), nil }

// UnmarshalText reads what MarshalText writes, also of older versions. What belongs to no item
// is an outcome alone.
func (n *Note) UnmarshalText(text []byte) error {
	*n = Note{}
	what, why, two := strings.Cut(string(text), ": ")
	if item := itemOf(what); two && item.Kind != ItemOther {
		n.Item = item
		return n.Outcome.UnmarshalText([]byte(why))
	}
	return n.Outcome.UnmarshalText(text)
}
