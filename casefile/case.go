package casefile

import "time"

// Version is the version of case.toml that this program writes. A newer one opens read-only.
const Version = 1

// Case is what case.toml holds. Texts are in the words of who gave them; "" is not known.
type Case struct {
	Version   int       `toml:"version"`
	Program   string    `toml:"program,omitempty"` // that wrote the file last
	Opened    time.Time `toml:"opened"`
	Complaint Complaint `toml:"complaint,omitempty"`
	Car       Car       `toml:"car,omitempty"`
	Request   Request   `toml:"request,omitempty"`
	Looks     []Look    `toml:"look,omitempty"`
	Repairs   []Repair  `toml:"repair,omitempty"`
	Files     []File    `toml:"file,omitempty"`
}

// Complaint is what the customer said, in the customer's words.
type Complaint struct {
	Words      string `toml:"words,omitempty"`       // what is felt
	Speed      string `toml:"speed,omitempty"`       // from-to: "60-70 km/h"
	Load       string `toml:"load,omitempty"`        // "light throttle", "uphill"
	Engine     string `toml:"engine,omitempty"`      // "cold", "warm", "both"
	HowOften   string `toml:"how_often,omitempty"`   // "every trip"
	Since      string `toml:"since,omitempty"`       // "since spring"
	RecentWork string `toml:"recent_work,omitempty"` // on tyres, gearbox, engine
}

// Car is what the shop knows of the car.
type Car struct {
	Name       string  `toml:"name,omitempty"` // what the shop calls it
	VIN        string  `toml:"vin,omitempty"`  // only where the user typed it; papers mask it
	OdometerKM float64 `toml:"odometer_km,omitempty"`
	By         string  `toml:"by,omitempty"` // who works on the case
}

// Request is what is asked of the payer, and what came back.
type Request struct {
	Authorise string    `toml:"authorise,omitempty"` // what is asked for
	Estimate  string    `toml:"estimate,omitempty"`  // parts and labour, with currency
	Contract  string    `toml:"contract,omitempty"`  // the payer's number of the contract
	Number    string    `toml:"number,omitempty"`    // of the authorisation
	Given     time.Time `toml:"given,omitempty"`     // when
}

// Look is one neutral observation at the car: what is there, where, and the photos of it. Who did
// it, or why, has no place here.
type Look struct {
	At     time.Time `toml:"at"`
	Kind   LookKind  `toml:"kind"`
	Place  string    `toml:"place,omitempty"`
	Note   string    `toml:"note,omitempty"`
	Photos []string  `toml:"photos,omitempty"` // names of files
	Fluid  *Fluid    `toml:"fluid,omitempty"`  // of a fluid level
}

// Fluid is at which temperature a level was looked at, and the window for it as the maker's page
// gives it. judder knows no maker's figure. °C.
type Fluid struct {
	AtC   float64 `toml:"at_c,omitempty"`
	FromC float64 `toml:"from_c,omitempty"`
	ToC   float64 `toml:"to_c,omitempty"`
	Page  string  `toml:"page,omitempty"` // where the window is printed
}

// Repair is one rung of the ladder, done.
type Repair struct {
	Rung       RungID    `toml:"rung"`
	Done       time.Time `toml:"done"`
	OdometerKM float64   `toml:"odometer_km,omitempty"`
	Parts      string    `toml:"parts,omitempty"`
	Note       string    `toml:"note,omitempty"`
}

// File is one file of the case.
type File struct {
	Name   string    `toml:"name"` // in the folder, with slashes: drives/road.jsonl
	Kind   Kind      `toml:"kind"`
	Label  string    `toml:"label,omitempty"` // one word or a few: what it shows
	Stage  Stage     `toml:"stage"`
	Added  time.Time `toml:"added"`
	Bytes  int64     `toml:"bytes"`
	SHA256 string    `toml:"sha256"` // when it was added, hexadecimal
}

// Stage is on which side of the repair a file lies.
type Stage string

// The stages.
const (
	Before Stage = "before" // the work
	After  Stage = "after"
)

// Repaired reports whether a rung of the ladder is done.
func (c *Case) Repaired() bool { return len(c.Repairs) > 0 }

// Of are the files of a kind and a stage, in order.
func (c *Case) Of(kind Kind, stage Stage) (list []*File) {
	for i := range c.Files {
		if f := &c.Files[i]; f.Kind == kind && f.Stage == stage {
			list = append(list, f)
		}
	}
	return list
}

// File is the row of a name; nil when there is none.
func (c *Case) File(name string) *File {
	for i := range c.Files {
		if c.Files[i].Name == name {
			return &c.Files[i]
		}
	}
	return nil
}

// Ready is the paper that the case is ready for: the one after the work needs a repair and a drive
// or check after it.
func (c *Case) Ready() Stage {
	if c.Repaired() && len(c.Of(Drive, After))+len(c.Of(CodeCheck, After)) > 0 {
		return After
	}
	return Before
}
