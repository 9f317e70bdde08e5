package compile

import "perch/lang/diag"

// Codes of this package.
const (
	// ModuleUnknown: `use tub`, and the library has no such module.
	ModuleUnknown diag.Code = "module-unknown"
	// UseMissing: `use dims from "none.perch"`, and there is no such file.
	UseMissing diag.Code = "use-missing"
	// UseOutside: `use dims from "../dims.perch"`, a file that does not lie in
	// the folder of the file being built.
	UseOutside diag.Code = "use-outside"
	// UseCycle: files that use each other in a circle.
	UseCycle diag.Code = "use-cycle"
	// UseUnreadable: a folder, a device, or a file that may not be read.
	UseUnreadable diag.Code = "use-unreadable"
	// UseTooMany: more files than any design has.
	UseTooMany diag.Code = "use-too-many"
	// SettingNotValue: --set 'lead=4mm let x = 2'.
	SettingNotValue diag.Code = "setting-not-value"
	// PartEmpty: cuts and trims leave nothing of a part.
	PartEmpty diag.Code = "part-empty"
	// MatingOverlap: the part reaches into a body that is not printed.
	MatingOverlap diag.Code = "mating-overlap"
	// PartTooLarge: a part is larger than the grid that bodies are built on.
	PartTooLarge diag.Code = "part-too-large"
	// PartUnbuilt: a body could not be built for another reason.
	PartUnbuilt diag.Code = "part-unbuilt"
	// Internal: a fault of Perch itself.
	Internal diag.Code = "internal"
)
