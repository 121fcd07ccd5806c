//! The closed lists of words the trade uses, shared by notes, book and answers.

use crate::wire_enum;

wire_enum! {
    /// What the ground is. Sets swell, shrinkage, bedding and digging rates.
    pub enum Soil {
        /// sand or gravel
        SandGravel = "sand_gravel",
        /// common earth, loam
        CommonEarth = "common_earth",
        /// clay
        Clay = "clay",
        /// rock, blasted or broken out
        Rock = "rock",
    }
}

wire_enum! {
    /// How hot the place gets; hot places want a gap between grates.
    pub enum Climate {
        /// no expansion gap
        Temperate = "temperate",
        /// grates get an expansion gap
        Hot = "hot",
    }
}

wire_enum! {
    /// How hard the place is to work in.
    pub enum Difficulty {
        /// open, close to the truck
        Easy = "easy",
        /// a usual house or yard
        Normal = "normal",
        /// narrow, steep, far from the truck, or in use while work goes on
        Hard = "hard",
    }
}

wire_enum! {
    /// The weather the work is done in.
    pub enum Weather {
        /// neither wet, cold nor hot
        Fair = "fair",
        /// rain or wet ground
        Wet = "wet",
        /// cold enough for gloves and covers
        Cold = "cold",
        /// hot enough for pauses
        Heat = "heat",
    }
}

wire_enum! {
    /// A day of the week.
    pub enum Weekday {
        /// Monday
        Monday = "monday",
        /// Tuesday
        Tuesday = "tuesday",
        /// Wednesday
        Wednesday = "wednesday",
        /// Thursday
        Thursday = "thursday",
        /// Friday
        Friday = "friday",
        /// Saturday
        Saturday = "saturday",
        /// Sunday
        Sunday = "sunday",
    }
}

wire_enum! {
    /// What crosses the drain: a use, or a load class named outright.
    ///
    /// `A15` to `F900` are the classes of EN 1433:2002 (the number is the test load in kN); the `_duty` words are those
    /// of ASME A112.6.3-2001.
    pub enum Crossing {
        /// people on foot
        Feet = "feet",
        /// car wheels
        Wheels = "wheels",
        /// EN 1433 class A 15
        A15 = "A15",
        /// EN 1433 class B 125
        B125 = "B125",
        /// EN 1433 class C 250
        C250 = "C250",
        /// EN 1433 class D 400
        D400 = "D400",
        /// EN 1433 class E 600
        E600 = "E600",
        /// EN 1433 class F 900
        F900 = "F900",
        /// ASME A112.6.3 light duty, safe live load below 2,000 lb
        Light = "light_duty",
        /// ASME A112.6.3 medium duty, 2,000 to 4,999 lb
        Medium = "medium_duty",
        /// ASME A112.6.3 heavy duty, 5,000 to 7,499 lb
        Heavy = "heavy_duty",
        /// ASME A112.6.3 extra heavy duty, 7,500 to 10,000 lb
        ExtraHeavy = "extra_heavy_duty",
        /// ASME A112.6.3 special duty, above 10,000 lb
        Special = "special_duty",
    }
}

wire_enum! {
    /// The load class a grate is rated for.
    pub enum LoadClass {
        /// EN 1433 class A 15
        A15 = "A15",
        /// EN 1433 class B 125
        B125 = "B125",
        /// EN 1433 class C 250
        C250 = "C250",
        /// EN 1433 class D 400
        D400 = "D400",
        /// EN 1433 class E 600
        E600 = "E600",
        /// EN 1433 class F 900
        F900 = "F900",
        /// ASME A112.6.3 light duty
        Light = "light_duty",
        /// ASME A112.6.3 medium duty
        Medium = "medium_duty",
        /// ASME A112.6.3 heavy duty
        Heavy = "heavy_duty",
        /// ASME A112.6.3 extra heavy duty
        ExtraHeavy = "extra_heavy_duty",
        /// ASME A112.6.3 special duty
        Special = "special_duty",
    }
}

impl LoadClass {
    /// Whether the class belongs to EN 1433 rather than ASME A112.6.3. The two are not comparable.
    pub const fn is_en_1433(self) -> bool {
        (self as u8) <= (LoadClass::F900 as u8)
    }

    /// Whether a grate of this class may be used where `needed` is called for; `None` across standards.
    pub fn carries(self, needed: LoadClass) -> Option<bool> {
        (self.is_en_1433() == needed.is_en_1433()).then_some(self >= needed)
    }
}

impl Crossing {
    /// The class named outright, when it is not a use.
    pub fn class(self) -> Option<LoadClass> {
        LoadClass::from_word(self.word())
    }

    /// Whether what crosses is heavier than the wheels of a car: those are class B 125 of EN 1433, heavy duty of ASME
    /// A112.6.3.
    pub fn is_heavier_than_wheels(self) -> bool {
        self.class()
            .is_some_and(|class| class > if class.is_en_1433() { LoadClass::B125 } else { LoadClass::Heavy })
    }

    /// Whether wheels or heavier cross.
    pub fn is_wheeled(self) -> bool {
        !matches!(self, Crossing::Feet | Crossing::A15 | Crossing::Light)
    }
}

wire_enum! {
    /// Where the money of a line goes in the build-up.
    pub enum Category {
        /// materials
        Material = "material",
        /// labor with burden
        Labor = "labor",
        /// hire of machines and gear
        Hire = "hire",
        /// work by subcontractors
        Subcontract = "subcontract",
        /// disposal and haul
        Disposal = "disposal",
        /// permits and fees
        Permit = "permit",
    }
}

impl Category {
    /// What a customer reads for it, on every paper alike.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Material => "Materials",
            Self::Labor => "Labor",
            Self::Hire => "Machines and gear",
            Self::Subcontract => "Subcontracted work",
            Self::Disposal => "Haul and disposal",
            Self::Permit => "Permits and fees",
        }
    }
}

wire_enum! {
    /// A measured quantity of the layout that rates, consumables and loads are driven by.
    pub enum Measure {
        /// length of all runs
        RunLength = "run_length",
        /// length of all drain lines
        LineLength = "line_length",
        /// channel to be set, without fittings
        ChannelLength = "channel_length",
        /// channel sections set
        ChannelSections = "channel_sections",
        /// cuts in channel
        ChannelCuts = "channel_cuts",
        /// joints between channel sections and fittings
        ChannelJoints = "channel_joints",
        /// corners and tees
        ChannelFittings = "channel_fittings",
        /// end caps and outlets
        RunEnds = "run_ends",
        /// grates laid
        Grates = "grates",
        /// cuts in grates
        GrateCuts = "grate_cuts",
        /// grate length
        GrateLength = "grate_length",
        /// grate screws
        GrateScrews = "grate_screws",
        /// hangers that hold the channel at level
        Hangers = "hangers",
        /// recess strip
        RecessStrip = "recess_strip",
        /// saw-cut length
        SawCutLength = "saw_cut_length",
        /// face area of saw cuts: length times depth
        SawCutFace = "saw_cut_face",
        /// concrete slab broken out
        SlabRemoved = "slab_removed",
        /// asphalt broken out
        AsphaltRemoved = "asphalt_removed",
        /// pavers lifted, as an area
        PaversLifted = "pavers_lifted",
        /// gravel surfacing stripped
        GravelStripped = "gravel_stripped",
        /// trench of the runs, bank volume
        RunExcavation = "run_excavation",
        /// trench of the drain lines, bank volume
        LineExcavation = "line_excavation",
        /// form contact area
        FormArea = "form_area",
        /// form boards
        FormBoards = "form_boards",
        /// reinforcing bar length
        BarLength = "bar_length",
        /// concrete ordered
        ConcreteOrdered = "concrete_ordered",
        /// top of surround and patch to be finished
        FinishArea = "finish_area",
        /// bags of concrete mixed
        BagsMixed = "bags_mixed",
        /// pipe laid
        PipeLength = "pipe_length",
        /// pipe joints
        PipeJoints = "pipe_joints",
        /// pipe bends, branches and clean-outs
        PipeFittings = "pipe_fittings",
        /// connections of outlets and of the discharge
        Connections = "connections",
        /// pipe bedding, compacted
        Bedding = "bedding",
        /// fill around the pipe, compacted
        ZoneFill = "zone_fill",
        /// native backfill, compacted
        Backfill = "backfill",
        /// surface restored other than by concrete
        SurfaceRestored = "surface_restored",
        /// spoil and rubble taken away, loose
        ExportLoose = "export_loose",
        /// truck loads taken away
        HaulLoads = "haul_loads",
        /// visits of the crew
        Visits = "visits",
    }
}

impl Measure {
    /// What the measure is measured in.
    pub const fn dimension(self) -> crate::units::Dimension {
        use crate::units::Dimension as D;
        match self {
            Measure::RunLength
            | Measure::LineLength
            | Measure::ChannelLength
            | Measure::GrateLength
            | Measure::RecessStrip
            | Measure::SawCutLength
            | Measure::BarLength
            | Measure::PipeLength => D::Length,
            Measure::SawCutFace
            | Measure::PaversLifted
            | Measure::FormArea
            | Measure::FinishArea
            | Measure::SurfaceRestored => D::Area,
            Measure::SlabRemoved
            | Measure::AsphaltRemoved
            | Measure::GravelStripped
            | Measure::RunExcavation
            | Measure::LineExcavation
            | Measure::ConcreteOrdered
            | Measure::Bedding
            | Measure::ZoneFill
            | Measure::Backfill
            | Measure::ExportLoose => D::Volume,
            Measure::ChannelSections
            | Measure::ChannelCuts
            | Measure::ChannelJoints
            | Measure::ChannelFittings
            | Measure::RunEnds
            | Measure::Grates
            | Measure::GrateCuts
            | Measure::GrateScrews
            | Measure::Hangers
            | Measure::FormBoards
            | Measure::BagsMixed
            | Measure::PipeJoints
            | Measure::PipeFittings
            | Measure::Connections
            | Measure::HaulLoads
            | Measure::Visits => D::Count,
        }
    }
}

wire_enum! {
    /// A piece of work, in the usual order.
    pub enum Task {
        /// move crew and gear to the site, once per visit
        Mobilize = "mobilize",
        /// mark out and protect what stays
        MarkAndProtect = "mark_and_protect",
        /// saw the existing surface
        SawCut = "saw_cut",
        /// break out and lift the existing surface
        BreakOut = "break_out",
        /// dig the trench of the runs
        DigRun = "dig_run",
        /// dig the trench of the drain lines
        DigLine = "dig_line",
        /// set forms
        Form = "form",
        /// cut, join and cap the channel
        AssembleChannel = "assemble_channel",
        /// fit grates and screw them down
        FitGrates = "fit_grates",
        /// hang the channel at level and brace it
        HangAndBrace = "hang_and_brace",
        /// bed and lay the pipe
        LayPipe = "lay_pipe",
        /// connect outlets and discharge
        Connect = "connect",
        /// mix bagged concrete on site
        MixConcrete = "mix_concrete",
        /// place concrete
        Pour = "pour",
        /// finish and cure
        Finish = "finish",
        /// strip forms and hangers, clean
        StripAndClean = "strip_and_clean",
        /// backfill and compact
        Backfill = "backfill",
        /// restore the surface
        Restore = "restore",
        /// haul spoil and rubble
        Haul = "haul",
        /// clear up the site
        ClearUp = "clear_up",
    }
}
