//! The kinds of mistake (`E`) and of finding (`F`), one code each. One line of the table below plus one page in `pages/` adds a code.

macro_rules! codes {
    ($($variant:ident $text:literal $meaning:literal;)*) => {
        /// A kind of mistake. Matches on it are exhaustive on purpose.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Code {
            $(#[doc = concat!($text, ": ", $meaning, ".")] $variant,)*
        }

        impl Code {
            /// Every code, in the order of its number.
            pub fn all() -> &'static [Code] {
                &[$(Code::$variant,)*]
            }

            /// The code as printed, such as `E0301`.
            pub fn as_str(self) -> &'static str {
                match self { $(Code::$variant => $text,)* }
            }

            /// What went wrong, in a few words without a full stop.
            pub fn meaning(self) -> &'static str {
                match self { $(Code::$variant => $meaning,)* }
            }

            /// The page that explains the code: a heading, a paragraph, a failing and a mended example.
            pub fn page(self) -> &'static str {
                match self { $(Code::$variant => include_str!(concat!("pages/", $text, ".md")),)* }
            }
        }
    };
}

codes! {
    UnexpectedText "E0101" "text that cannot stand here";
    TooDeep "E0102" "nesting too deep";
    FileTooLarge "E0103" "file too large";
    LineTooLong "E0104" "line too long";
    BadBytes "E0105" "a control byte, or text that is not UTF-8";
    PastedTypography "E0106" "pasted typography";
    ThousandsSeparator "E0107" "a number with a thousands separator";
    MissingUnit "E0108" "a quantity without a unit";
    UnknownUnit "E0109" "unknown unit";
    BadDate "E0110" "not a date";
    Unclosed "E0111" "an unclosed brace or quotation mark";
    OutOfPlace "E0112" "a statement out of place";
    UnknownName "E0201" "unknown name";
    DefinedTwice "E0202" "a name defined twice";
    AmbiguousName "E0203" "a short name that could mean several fields";
    UnknownSection "E0204" "unknown section or address";
    UnknownThing "E0205" "unknown thing";
    UnknownField "E0206" "unknown field";
    UnknownChoiceValue "E0207" "a value that the choice does not have";
    DefinitionCycle "E0208" "definitions that go round in a circle";
    UnknownReading "E0209" "unknown reading or option";
    LabelTwice "E0210" "a label used twice in one list";
    OwnerNotReachable "E0211" "an owner that cannot be reached";
    WrongType "E0301" "the wrong type for the operation";
    DimensionsDiffer "E0302" "dimensions differ";
    DualInArithmetic "E0303" "a dual limit used in arithmetic";
    DualKindsDiffer "E0304" "the two values of a dual limit differ in kind";
    ListMismatch "E0305" "a list where one value is needed, or the reverse";
    UnorderedComparison "E0306" "a comparison of values that have no order";
    NotMayBeAbsent "E0307" "`none` tested on a field that is always there";
    SiblingTested "E0308" "one half of a pair tests the other";
    TooManyValues "E0309" "too many values in a choice or scale";
    GovernsNothing "E0401" "a section that governs nothing";
    NoRule "E0402" "a section without a rule";
    ExceptionToNothing "E0403" "an exception to an item that does not exist";
    BadTableRow "E0404" "a table row with the wrong number of cells";
    RowsOverlap "E0405" "table rows that overlap";
    RowsOutOfOrder "E0406" "table rows out of order or with a gap";
    EditionNotLoaded "E0408" "an edition that is not loaded";
    LookupWithoutKeys "E0409" "a table lookup without the keys";
    SubjectsTooDeep "E0410" "subjects nested more than 3 deep";
    NoOtherCase "E0451" "a value that depends on a case, without the other case";
    RowsWithGap "E0452" "ranges of a table with a gap between them";
    StatedLowerEnd "E0453" "a range among rows that reach down to the row before";
    SeriesDoesNotRise "E0454" "a series whose values do not rise";
    UnknownSeries "E0455" "an unknown series";
    NothingWorkedOut "E0456" "nothing of that name is worked out";
    NothingToWorkFor "E0457" "the facts describe nothing to work it out for";
    FactUnknownThing "E0501" "an unknown thing in the facts";
    FactUnknownField "E0502" "an unknown field in the facts";
    FactWrongType "E0503" "the wrong unit or type for a fact";
    FactNameTwice "E0504" "a name used twice in the facts";
    DanglingReference "E0505" "a reference to nothing";
    NoneNotAllowed "E0506" "`none` for a field that is always there";
    NegativeValue "E0507" "a negative value for a field that is never negative";
    FactFieldTwice "E0508" "a field given twice";
    NoValueLeft "E0509" "a partial fact that leaves no value";
    BadJson "E0510" "malformed JSON facts";
    FactListMismatch "E0511" "a list where one value is expected, or the reverse";
    TooFewMembers "E0512" "too few members";
    ReferenceCycle "E0513" "references that go round in a circle";
    NoSuchEdition "E0601" "no such edition";
    NoFacts "E0602" "no facts given";
    NoRules "E0603" "the rules folder is empty";
    NoSuchTarget "E0701" "a change to something that is not there";
    OldValueDiffers "E0702" "a change that expects something else";
    ChangedTwice "E0703" "two changes to one part in one document";
    FollowsInCircle "E0704" "editions that follow one another in a circle";
    OtherBase "E0705" "an amendment to another base";
    NumberTaken "E0706" "a number or name already taken";
    NoSuchChanges "E0707" "no such amendment";
    CannotSplit "E0708" "a part that cannot be split like this";
    MergeDiffers "E0709" "parts that cannot be merged or moved together";
    CannotBecome "E0710" "a change of form that would change the meaning";
    NotUsedThere "E0711" "a term that is not used there";
    OnlyAnExcerpt "E0712" "an edition of which only an excerpt is loaded";
    DefinitionMissing "E0713" "a text used here whose words are not defined here";
    ReferenceToGone "E0714" "a reference to something that is gone";
    ExceptionNumberTwice "E0715" "two exceptions with one number";
    NoMapping "E0730" "a target that moved, with no mapping";
    NoLineage "E0731" "books that share no lineage";
    NoSuchPlace "E0801" "no such place";
    AdoptionsOverlap "E0802" "adoptions that overlap";
    OutsideAdoptions "E0803" "a date outside every adoption";
    NoClock "E0804" "a place without a clock";
    WithinInCircle "E0805" "places that lie within one another";
    AdoptsUnknown "E0806" "an adoption of something that is not loaded";
    LayersConflict "E0807" "two layers that touch one part";
    Deviation "E0808" "a deviation that is not allowed";
    DatesDisagree "E0809" "a date stated in two ways";
    UnknownClock "E0810" "a clock that is no date of the project";
    UnknownClass "E0811" "a word that the project cannot have";
    EmptyWindow "E0812" "a window that never opens";
    NotOffered "E0813" "a declared edition that is not offered";
    TooMuchOpen "E0814" "too much is unknown to list the books";
    BadGrid "E0901" "a row of expectations that does not fit its heading";
    ClaimSaysNotOne "E0902" "a claim that does not say one thing of one rule";
    NothingNamed "E0903" "a change in an example to something that is not given";
    SeveralNamed "E0904" "a change in an example that could mean several things";
    NoSuchFixture "E0905" "no such fixture or example";
    NoSuchTargetRule "E0906" "an expectation about a rule that is not there";
    NoSuchSubject "E0907" "an expectation about a thing that is not given";
    NoBookToRun "E0908" "an example under an edition that is not loaded";
    ExpectsNothing "E0909" "an example that expects nothing";
    LayoutRefused "E0910" "a text that cannot be laid out safely";
    UnknownWord "E1001" "a line that is no statement, no rule and no command";
    NotNamed "E1002" "a name that the installation does not have";
    SeveralMeant "E1003" "a name that several things have";
    Lacking "E1004" "a command that lacks something";
    NoSuchTopic "E1005" "nothing to list or to explain by that name";
    NothingToTakeBack "E1006" "nothing to take back";
    NoVerdict "E1007" "no verdict to explain";
    BadJobName "E1008" "no such job, or no name for one";
    FileThere "E1009" "a file that is there already";
    FileTrouble "E1010" "a file that cannot be read or written";
    NothingToSave "E1011" "nothing to save";
    Unfinished "E1012" "a statement that is not finished";
    ExceptionNever "F0101" "an exception that never excuses anything";
    ItemCovered "F0102" "a list item that another one covers";
    AlwaysHolds "F0103" "a condition that always holds";
    NeverHolds "F0104" "a condition that never holds";
    KindUnused "F0201" "a kind or reading that nothing uses";
    FieldUnread "F0202" "a field that no rule reads";
    DefinitionUnused "F0203" "a definition that nothing uses";
    TableUnread "F0204" "a table or series that nothing looks up";
    LimitUnused "F0205" "a limit that nothing uses";
    LimitRepeated "F0206" "a limit that is written out beside its name";
    ThingUnused "F0207" "a thing, choice or scale that nothing uses";
    RowOutOfReach "F0301" "a table row out of reach";
    NumberGap "F0302" "a gap in the numbers";
    DualDiffers "F0303" "a limit whose two values differ";
    VagueWord "F0401" "a vague word that nobody is named to judge";
    NoSource "F0402" "a statement without a source";
    NoExample "F0403" "a paragraph without an example";
    IntendedIdle "F0501" "an intention that stands for no finding";
}

impl Code {
    /// Whether it is a finding of a review, rather than a mistake.
    pub fn is_finding(self) -> bool {
        self.as_str().starts_with('F')
    }

    /// Reads a code as a person types it: `E0301`, `e301`, `0301` or `301`, `F0102` or `f102`, with blanks around it. A number
    /// alone is the code of a mistake. `None` if there is no such code.
    pub fn parse(typed: &str) -> Option<Code> {
        let typed = typed.trim();
        let (letter, digits) = match (typed.strip_prefix(['E', 'e']), typed.strip_prefix(['F', 'f'])) {
            (_, Some(digits)) => ('F', digits),
            (Some(digits), None) => ('E', digits),
            (None, None) => ('E', typed),
        };
        if digits.len() > 4 || digits.is_empty() || !digits.bytes().all(|b| b.is_ascii_digit()) {
            return None;
        }
        let full = format!("{letter}{digits:0>4}");
        Code::all().iter().copied().find(|code| code.as_str() == full)
    }
}

impl std::fmt::Display for Code {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_page_is_headed_by_its_code_and_meaning() {
        for code in Code::all() {
            let heading = code.page().lines().next().unwrap_or("");
            assert_eq!(heading, format!("# {} {}", code.as_str(), code.meaning()));
        }
    }

    #[test]
    fn every_page_shows_a_failing_and_a_mended_text() {
        for code in Code::all() {
            let page = code.page();
            let fences = page.lines().filter(|l| l.starts_with("```")).count();
            assert!(fences >= 4 && fences % 2 == 0, "{code}");
            let runs = page.contains(" fails\n") && page.contains(" mended\n");
            let tells = page.contains("Leads here:\n") && page.contains("Mended:\n");
            assert!(runs || tells, "{code}");
        }
    }

    #[test]
    fn codes_ascend_without_repeats() {
        assert!(Code::all().windows(2).all(|w| w[0].as_str() < w[1].as_str()));
    }

    #[test]
    fn parse_accepts_what_people_type() {
        assert_eq!(Code::parse("E0301"), Some(Code::WrongType));
        assert_eq!(Code::parse(" e301 "), Some(Code::WrongType));
        assert_eq!(Code::parse("301"), Some(Code::WrongType));
        assert_eq!(Code::parse("f102"), Some(Code::ItemCovered));
        for refused in ["", "E", "F", "E9999", "E00301", "E+301", "\u{663}01"] {
            assert_eq!(Code::parse(refused), None, "{refused}");
        }
    }
}
