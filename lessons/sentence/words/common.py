"""Common words that lie one letter away from a word of the trade, and so are no slip of it."""

COMMON = frozenset(
    """
    lefty lefties righty left leftie about above across actual after again against agree ahead almost alone along already also although always among
    another answer anybody anything around asked asleep aside autumn awake aware basket beard beach bench bend beneath
    besides beyond birth black blame blank blind block blood board boast boots bored bound brain brand brass brave
    bread brick brief bright bring brown brought bucket build built bunch burn cable candy card care carry carpet catch
    cheap cheer cheese chest child church clean clerk cloth cloud coach coast coat coffee cold could count couple
    course court cover crack crazy cream cried cross crowd cuts daily dance death depth didnt dirty doing door doubt
    down dozen dream dress drink drove earth eight either empty enemy enjoy enough enter entire every exact exam extra
    faced faint fairway faith false family fancy father fault feast feeling field fight figure final fitness flash float
    floor focus folks force forest forget forth found frame fresh friend fruit fully funny games garage gently giant
    glass glove going grand grant great greet ground group grown guard guess guest guide happy harsh heard heart hello
    helped hence horse hotel hours house human humor ideal image inner issue jeans jokes judge juice keeper kettle kids
    kitchen knife known labor ladies large later laugh layer learn least lesson letter level lights liked limit little
    lived local lower lucky lunch lying magic maker manner march match maths maybe means meant metal might mirror model
    money month moral morning mouth moved movie music muscle myself named nature nearly nerve never newer night noise
    north noted notes novel nurse ocean offer often older order other ought outside owner paint panel paper party patch
    peace phone photo piece pilot place plain plane plant plate pleased pocket pound power press price pride prime print
    prize proof proud prove quiet quite quota radio raise range rapid reach react ready reason right river rough round
    route royal ruler rural safe sandy scale scene school score scout seat second sense serve seven shall shape share
    sheet shelf shell shine shirt shock shoes shore shown sight silly since sister sixth skill sleep sleeve slope small
    smart smell smile smoke snow solid solve sorry sound south space spare speak spend spent spoke sport spring staff
    stage stair stake start state steam steel still stock stone store storm story strange stuff style sugar suit sunny
    super swear sweat sweet table taste teach tears teeth thank that theme there these thick thing think third those
    three threw tight times tired title today tooth total touch tough towel tower trace track trade train treat trend
    trial tribe trick tried trousers truck trust truth twice twist under uncle union unit until upper upset usual value
    video visit voice waist waste water weeks whale wheel where which while white whole whose windy winter woman women
    world worry worth would wound write wrong wrote yards years young youth telly shade shame shiny sleepy bread older
    heads heading headed hears heats hearty beats beaten boats coats points pointed stays stayed stands steps stepped
    lifts light lightly lighter likes lines lands landed later leans leaned learns learned legs length lengths
    match matches misses missed mister months mornings mother mothers murmur naturally necks needs noses
    open opened opens pages paid pairs palms parks parts passed pasta path paths pause pauses plays played
    putts putters quality quarter quick reads ready rolled rolls rounds ruins sadly saves seems served shafts sharp
    shots shows sides signs singing sitting skirt slices slides slowly snaps snapped socks softly sorts spots squares
    stones stops strokes strong swings talks tapes targets tells tests thanks themselves thighs toe toes tops trees
    trips tunes turned turns twelve tries using views waits walks walked walls wants watch watched wears weather
    weights whatever winds wings wishes words worked works worst bounce bounces bounced
    flags flagged grass grassy green greens holes holed hopes hoped hurts lessons stance stances wrist wrists
    hello handed hander handle hands hangs happen happens hardly hated having heavy hence hidden higher hills hired
    saying sayings seeing seemed shoulder shoulders single sitting sizes spoon staring stretch string
    strict strip student students study supper support surface teacher teaching tennis terms think thinking though
    thought through throughout tomorrow tonight topic tracks travel truly tunnel twenty typical umbrella unless upstairs
    useful variety various village volume wedge wedges weekend weird whether whistle willing window wonder wonders wooden
    worried zebra squats sides notes wrote rolled wetter drier rainy sticky muddy breeze breezy chair chat chats cheek
    cheeks chill cried dryer drops dropped eaten eats finds fired flies flown freed funds gained gives given glad gloves
    lad lads lass mate mates stiffly steal stole noise noisy nose
    """.split()
)
