//! The vehicle file: every number of the car and its axle, with range and default.
//!
//! The defaults are the invented demo car "Ptarmigan": a front-drive-based car of 1720 kg with two wet clutches in place
//! of the rear differential. No number was measured on a real car. Sizes of body and axle are chosen; tyres are tuned so
//! that the car with open clutches understeers like a car of its class (see `tests/tests/plant_character.rs`).

crate::described! {
    /// The car. Groups are the tables of a vehicle file.
    pub struct Vehicle {
        /// Body: mass, shape, resistance.
        body: Body {
            /// Mass of the car with its load.
            mass_kg [kg] 500.0 .. 5000.0 = 1720.0,
            /// Moment of inertia about the vertical axis through the centre of gravity.
            yaw_inertia_kg_m2 ["kg m2"] 300.0 .. 12000.0 = 2900.0,
            /// Distance between the axles.
            wheelbase_m [m] 1.5 .. 5.0 = 2.72,
            /// Share of the static load on the front axle on the level.
            front_load_share ["-"] 0.3 .. 0.8 = 0.58,
            /// Height of the centre of gravity.
            gravity_height_m [m] 0.1 .. 1.5 = 0.56,
            /// Distance between the front wheels.
            track_front_m [m] 1.0 .. 2.5 = 1.58,
            /// Distance between the rear wheels.
            track_rear_m [m] 1.0 .. 2.5 = 1.58,
            /// Width of the body without mirrors; lanes of ISO 3888 are laid out for it. Chosen: tracks plus a tyre.
            width_m [m] 1.2 .. 2.6 = 1.82,
            /// Body ahead of the front axle. Chosen.
            front_overhang_m [m] 0.2 .. 1.5 = 0.90,
            /// Body behind the rear axle. Chosen.
            rear_overhang_m [m] 0.2 .. 2.0 = 0.88,
            /// Share of the lateral load transfer borne by the front axle.
            front_roll_share ["-"] 0.0 .. 1.0 = 0.65,
            /// Time constant with which wheel loads follow acceleration (unless `suspension` makes roll and pitch motions).
            load_transfer_lag_s [s] 0.01 .. 0.5 = 0.08,
            /// Drag coefficient times frontal area.
            drag_area_m2 [m2] 0.0 .. 3.0 = 0.68,
            /// Density of the air.
            air_density_kg_m3 ["kg/m3"] 0.0 .. 2.0 = 1.2,
            /// Rolling resistance force over wheel load.
            rolling_resistance ["-"] 0.0 .. 0.1 = 0.011,
            /// Lift coefficient times area on the front axle, positive lifting, negative pressing down.
            front_lift_area_m2 [m2] -3.0 .. 3.0 = 0.0,
            /// Lift coefficient times area on the rear axle.
            rear_lift_area_m2 [m2] -3.0 .. 3.0 = 0.0,
            /// Moment of inertia of one wheel with hub and half shaft.
            wheel_inertia_kg_m2 ["kg m2"] 0.2 .. 10.0 = 1.0,
        },
        /// Front tyres; cornering stiffness includes the compliance of steering and suspension.
        tyre_front: TyreFront {
            /// Curves: 0 tuned for this car, 1 published 1987 (SAE 870421), 2 published 2006 (Table A3.1), 3 tuned under the combined
            /// slip of 2006; see `plant/tyre`.
            family ["-"] 0.0 .. 3.0 = 3.0,
            /// Rolling radius; free rolling speed over wheel speed.
            radius_m [m] 0.2 .. 0.6 = 0.32,
            /// Factor on the left radius (worn tyre, spare).
            left_radius_scale ["-"] 0.9 .. 1.1 = 1.0,
            /// Factor on the right radius.
            right_radius_scale ["-"] 0.9 .. 1.1 = 1.0,
            /// Factor on both stiffnesses of the left tyre (worn tread is stiffer, a spare softer).
            left_stiffness_scale ["-"] 0.2 .. 3.0 = 1.0,
            /// Factor on both stiffnesses of the right tyre.
            right_stiffness_scale ["-"] 0.2 .. 3.0 = 1.0,
            /// Factor on the road's friction under the left tyre (mixed tyres, spare).
            left_friction_scale ["-"] 0.1 .. 2.0 = 1.0,
            /// Factor on the road's friction under the right tyre.
            right_friction_scale ["-"] 0.1 .. 2.0 = 1.0,
            /// Least friction under tyres with chains, also on ice; 0: no chains. Chains also lower stiffness and dry grip.
            chain_friction ["-"] 0.0 .. 0.6 = 0.0,
            /// Load at which the peak friction equals the road's friction times the peak scales.
            nominal_load_n [N] 500.0 .. 20000.0 = 4500.0,
            /// Longitudinal peak friction over road friction at nominal load.
            peak_scale_longitudinal ["-"] 0.1 .. 2.0 = 1.05,
            /// Lateral peak friction over road friction at nominal load.
            peak_scale_lateral ["-"] 0.1 .. 2.0 = 1.045,
            /// Relative fall of peak friction per nominal load.
            load_sensitivity ["-"] 0.0 .. 0.5 = 0.10,
            /// Longitudinal slip stiffness over load.
            slip_stiffness_per_load ["-"] 2.0 .. 60.0 = 20.0,
            /// Largest cornering stiffness of one tyre over load.
            cornering_stiffness_max_n_rad ["N/rad"] 5000.0 .. 300000.0 = 71500.0,
            /// Load at which the cornering stiffness is largest.
            cornering_stiffness_load_n [N] 1000.0 .. 50000.0 = 8000.0,
            /// Shape factor of the longitudinal force curve, above 1.
            shape_longitudinal ["-"] 1.05 .. 1.95 = 1.5,
            /// Shape factor of the lateral force curve, above 1.
            shape_lateral ["-"] 1.05 .. 1.95 = 1.45,
            /// Longitudinal relaxation length.
            relaxation_longitudinal_m [m] 0.05 .. 1.0 = 0.15,
            /// Lateral relaxation length.
            relaxation_lateral_m [m] 0.05 .. 2.0 = 0.35,
        },
        /// Rear tyres; cornering stiffness includes the compliance of the suspension.
        tyre_rear: TyreRear {
            /// Curves: 0 tuned for this car, 1 published 1987 (SAE 870421), 2 published 2006 (Table A3.1), 3 tuned under the combined
            /// slip of 2006; see `plant/tyre`.
            family ["-"] 0.0 .. 3.0 = 3.0,
            /// Rolling radius; free rolling speed over wheel speed.
            radius_m [m] 0.2 .. 0.6 = 0.32,
            /// Factor on the left radius (worn tyre, spare).
            left_radius_scale ["-"] 0.9 .. 1.1 = 1.0,
            /// Factor on the right radius.
            right_radius_scale ["-"] 0.9 .. 1.1 = 1.0,
            /// Factor on both stiffnesses of the left tyre (worn tread is stiffer, a spare softer).
            left_stiffness_scale ["-"] 0.2 .. 3.0 = 1.0,
            /// Factor on both stiffnesses of the right tyre.
            right_stiffness_scale ["-"] 0.2 .. 3.0 = 1.0,
            /// Factor on the road's friction under the left tyre (mixed tyres, spare).
            left_friction_scale ["-"] 0.1 .. 2.0 = 1.0,
            /// Factor on the road's friction under the right tyre.
            right_friction_scale ["-"] 0.1 .. 2.0 = 1.0,
            /// Least friction under tyres with chains, also on ice; 0: no chains. Chains also lower stiffness and dry grip.
            chain_friction ["-"] 0.0 .. 0.6 = 0.0,
            /// Load at which the peak friction equals the road's friction times the peak scales.
            nominal_load_n [N] 500.0 .. 20000.0 = 4500.0,
            /// Longitudinal peak friction over road friction at nominal load.
            peak_scale_longitudinal ["-"] 0.1 .. 2.0 = 1.05,
            /// Lateral peak friction over road friction at nominal load.
            peak_scale_lateral ["-"] 0.1 .. 2.0 = 1.08,
            /// Relative fall of peak friction per nominal load.
            load_sensitivity ["-"] 0.0 .. 0.5 = 0.10,
            /// Longitudinal slip stiffness over load.
            slip_stiffness_per_load ["-"] 2.0 .. 60.0 = 20.0,
            /// Largest cornering stiffness of one tyre over load.
            cornering_stiffness_max_n_rad ["N/rad"] 5000.0 .. 300000.0 = 106000.0,
            /// Load at which the cornering stiffness is largest.
            cornering_stiffness_load_n [N] 1000.0 .. 50000.0 = 8000.0,
            /// Shape factor of the longitudinal force curve, above 1.
            shape_longitudinal ["-"] 1.05 .. 1.95 = 1.5,
            /// Shape factor of the lateral force curve, above 1.
            shape_lateral ["-"] 1.05 .. 1.95 = 1.45,
            /// Longitudinal relaxation length.
            relaxation_longitudinal_m [m] 0.05 .. 1.0 = 0.15,
            /// Lateral relaxation length.
            relaxation_lateral_m [m] 0.05 .. 2.0 = 0.25,
        },
        /// Steering; both front wheels steer alike.
        steering: Steering {
            /// Steering-wheel angle over road-wheel angle.
            ratio ["-"] 5.0 .. 30.0 = 15.0,
            /// Largest steering-wheel angle to either side.
            lock_rad [rad] 1.0 .. 15.0 = 9.0,
        },
        /// Powertrain as one torque at the carrier of the front differential.
        powertrain: Powertrain {
            /// Largest torque at the carrier (lowest gear).
            maximum_torque_nm ["N m"] 100.0 .. 10000.0 = 3600.0,
            /// Largest power at the carrier.
            maximum_power_w [W] 10000.0 .. 1000000.0 = 190000.0,
            /// Torque lost at closed throttle at speed, 0 or more; acts against rotation.
            drag_torque_nm ["N m"] 0.0 .. 2000.0 = 700.0,
            /// Carrier speed at which the drag has reached 71 % of its full value.
            drag_fade_rad_s ["rad/s"] 1.0 .. 100.0 = 10.0,
            /// Time constant of torque build-up.
            lag_s [s] 0.01 .. 1.0 = 0.12,
            /// Moment of inertia of powertrain and propshaft at the carrier.
            inertia_kg_m2 ["kg m2"] 0.1 .. 100.0 = 8.0,
        },
        /// Engine and stepped gears in place of the continuous ratio; they use the powertrain's lag and drag fade.
        gears: Gears {
            /// Number of forward gears; 0: the continuous ratio of the powertrain.
            count ["-"] 0.0 .. 6.0 = 0.0,
            /// Ratio of the final drive.
            final_ratio ["-"] 1.0 .. 8.0 = 3.9,
            /// Ratio of the first gear.
            first_ratio ["-"] 0.3 .. 8.0 = 3.6,
            /// Ratio of the second gear.
            second_ratio ["-"] 0.3 .. 8.0 = 2.1,
            /// Ratio of the third gear.
            third_ratio ["-"] 0.3 .. 8.0 = 1.42,
            /// Ratio of the fourth gear.
            fourth_ratio ["-"] 0.3 .. 8.0 = 1.06,
            /// Ratio of the fifth gear.
            fifth_ratio ["-"] 0.3 .. 8.0 = 0.85,
            /// Ratio of the sixth gear.
            sixth_ratio ["-"] 0.3 .. 8.0 = 0.7,
            /// Ratio of the reverse gear, positive.
            reverse_ratio ["-"] 0.3 .. 8.0 = 3.4,
            /// Time of a change in which nothing drives.
            shift_time_s [s] 0.02 .. 2.0 = 0.35,
            /// Engine speed at which the next gear is taken.
            up_rad_s ["rad/s"] 100.0 .. 1500.0 = 560.0,
            /// Engine speed at which the gear before is taken.
            down_rad_s ["rad/s"] 0.0 .. 800.0 = 150.0,
            /// Engine speed at which no driving torque is left.
            speed_limit_rad_s ["rad/s"] 150.0 .. 2000.0 = 680.0,
            /// Largest torque of the engine.
            engine_torque_nm ["N m"] 20.0 .. 1500.0 = 320.0,
            /// Largest power of the engine.
            engine_power_w [W] 10000.0 .. 1000000.0 = 150000.0,
            /// Drag of the engine with closed throttle, 0 or more.
            engine_drag_nm ["N m"] 0.0 .. 300.0 = 40.0,
            /// Inertia of the engine.
            engine_inertia_kg_m2 ["kg m2"] 0.01 .. 3.0 = 0.18,
            /// Inertia at the carrier that no gear changes.
            carrier_inertia_kg_m2 ["kg m2"] 0.1 .. 50.0 = 1.5,
        },
        /// Wheel brakes.
        brakes: Brakes {
            /// Largest torque of one wheel brake.
            maximum_torque_nm ["N m"] 0.0 .. 10000.0 = 4000.0,
        },
        /// Mechanical limited-slip differential in front; only in a car built with one. Values found by the search of `prove::tuning`.
        front_differential: FrontDifferential {
            /// Torque difference between the front wheels that it holds without load.
            preload_nm ["N m"] 0.0 .. 1000.0 = 150.0,
            /// Further torque difference per carrier torque while driving (locking factor).
            locking_drive ["-"] 0.0 .. 0.95 = 0.5,
            /// The same while the carrier is braked by the powertrain.
            locking_coast ["-"] 0.0 .. 0.95 = 0.5,
        },
        /// Textbook law of brake-based vectoring and brake traction control; values found by the search of `prove::tuning`.
        brake_vectoring: BrakeVectoring {
            /// Missing yaw rate without intervention.
            quiet_rad_s ["rad/s"] 0.0 .. 0.5 = 0.047,
            /// Brake torque per missing yaw rate beyond that.
            gain_nm_s_rad ["N m s/rad"] 0.0 .. 200000.0 = 26000.0,
            /// Largest brake torque for the yaw rate.
            maximum_torque_nm ["N m"] 0.0 .. 4000.0 = 3300.0,
            /// Largest brake torque for the yaw rate over carrier torque; at 0.5 the braked wheel just rolls freely.
            carrier_share ["-"] 0.0 .. 1.0 = 0.515,
            /// Understeer aimed at over the car's own without power.
            aim_understeer_share ["-"] 0.0 .. 2.0 = 0.895,
            /// Brake torque per speed difference of the front wheels (also `assist.brake_traction`, as all below).
            traction_gain_nm_s_m ["N m s/m"] 0.0 .. 10000.0 = 5400.0,
            /// Speed difference that is a turn and no spin.
            traction_start_m_s ["m/s"] 0.0 .. 5.0 = 0.38,
            /// The same per speed of the car, added.
            traction_start_share ["-"] 0.0 .. 0.5 = 0.111,
            /// Largest brake torque for traction.
            traction_maximum_torque_nm ["N m"] 0.0 .. 4000.0 = 1560.0,
            /// Spin of both front wheels beyond which the powertrain is cut.
            traction_cut_start_m_s ["m/s"] 0.0 .. 10.0 = 3.8,
            /// Share of the request cut per such spin and second.
            traction_cut_per_m ["1/m"] 0.0 .. 10.0 = 0.4,
        },
        /// Textbook law of a single coupling; values found by the search of `prove::tuning`.
        coupling: Coupling {
            /// Share of the driver's torque set ahead of slip.
            share ["-"] 0.0 .. 1.0 = 0.8,
            /// Driver's torque of which no share goes to the rear.
            free_torque_nm ["N m"] 0.0 .. 2000.0 = 35.0,
            /// Torque wanted beyond the one delivered that counts too.
            lead_torque_nm ["N m"] 0.0 .. 4000.0 = 750.0,
            /// Torque per slip of the coupling.
            slip_gain_nm_s_rad ["N m s/rad"] 0.0 .. 10000.0 = 430.0,
            /// Slip without effect.
            slip_start_rad_s ["rad/s"] 0.0 .. 10.0 = 0.88,
            /// Largest torque at both wheels together.
            maximum_torque_nm ["N m"] 0.0 .. 10000.0 = 1660.0,
            /// Largest rise.
            rise_nm_s ["N m/s"] 100.0 .. 200000.0 = 43000.0,
            /// Largest fall.
            fall_nm_s ["N m/s"] 100.0 .. 200000.0 = 2700.0,
            /// Front spin asked of the powertrain while moving off; the powertrain's own is 1.
            front_spin_m_s ["m/s"] 0.1 .. 5.0 = 0.72,
        },
        /// From the carrier to the rear shaft.
        driveline: Driveline {
            /// Overspeed of the rear shaft against the front carrier with two clutches, shaft over carrier speed minus 1.
            overspeed ["-"] -0.02 .. 0.1 = 0.02,
            /// Overspeed with a single coupling and an open rear differential.
            single_coupling_overspeed ["-"] -0.02 .. 0.1 = 0.0,
            /// Drag of the rear take-off at the carrier, 0 or more; acts against rotation.
            drag_nm ["N m"] 0.0 .. 100.0 = 3.0,
            /// Torque at the carrier per twist of both front half shafts together; 0: rigid.
            half_shaft_stiffness_nm_rad ["N m/rad"] 0.0 .. 1000000.0 = 0.0,
            /// Damping of that twist, in contact.
            half_shaft_damping_nms_rad ["N m s/rad"] 0.0 .. 500.0 = 20.0,
            /// Lash between powertrain and front wheels, at the carrier, from one contact to the other.
            half_shaft_lash_rad [rad] 0.0 .. 0.3 = 0.0,
            /// Torque at wheel level per twist of the shaft from the carrier to the clutches; 0: rigid.
            propshaft_stiffness_nm_rad ["N m/rad"] 0.0 .. 1000000.0 = 0.0,
            /// Damping of that twist, in contact.
            propshaft_damping_nms_rad ["N m s/rad"] 0.0 .. 500.0 = 3.0,
            /// Lash between carrier and clutches at wheel level, from one contact to the other.
            propshaft_lash_rad [rad] 0.0 .. 0.3 = 0.0,
            /// Inertia of propshaft and clutch inputs at wheel level; counts only where the propshaft twists.
            propshaft_inertia_kg_m2 ["kg m2"] 0.01 .. 5.0 = 0.15,
        },
        /// One wet multi-plate clutch; a single coupling has twice its capacity.
        clutch: Clutch {
            /// Number of friction faces.
            faces ["-"] 1.0 .. 40.0 = 10.0,
            /// Inner radius of the facings.
            inner_radius_m [m] 0.01 .. 0.3 = 0.055,
            /// Outer radius of the facings.
            outer_radius_m [m] 0.01 .. 0.4 = 0.075,
            /// Friction coefficient at standstill of the faces and reference temperature.
            friction_static ["-"] 0.02 .. 0.4 = 0.115,
            /// Friction coefficient at high slip and reference temperature.
            friction_dynamic ["-"] 0.02 .. 0.4 = 0.125,
            /// Slip at which friction is halfway between the two.
            friction_slip_rad_s ["rad/s"] 0.05 .. 50.0 = 2.0,
            /// Relative fall of friction with surface temperature.
            friction_fall_per_k ["1/K"] 0.0 .. 0.005 = 0.0015,
            /// Surface temperature of the friction coefficients.
            friction_reference_degc [degC] -40.0 .. 200.0 = 80.0,
            /// Area of the piston.
            piston_area_m2 [m2] 0.0005 .. 0.05 = 0.005,
            /// Force of the return spring, which pressure has to overcome.
            return_spring_n [N] 0.0 .. 5000.0 = 400.0,
            /// Drag of the open pack in warm oil; scales with the actuator's cold factor.
            drag_nm ["N m"] 0.0 .. 50.0 = 1.5,
            /// Slip at which that drag is reached; it rises before and falls after, as the oil film breaks. 0: the same at any slip.
            drag_slip_rad_s ["rad/s"] 0.0 .. 200.0 = 0.0,
            /// Factor on the friction of the left clutch.
            left_friction_scale ["-"] 0.3 .. 2.0 = 1.0,
            /// Factor on the friction of the right clutch.
            right_friction_scale ["-"] 0.3 .. 2.0 = 1.0,
        },
        /// Pressure control of one clutch.
        actuator: Actuator {
            /// Pressure per current above the offset.
            gain_pa_a ["Pa/A"] 100000.0 .. 50000000.0 = 3400000.0,
            /// Current at which pressure begins to rise.
            offset_a [A] 0.0 .. 2.0 = 0.15,
            /// Factor on that of the left valve.
            left_gain_scale ["-"] 0.5 .. 1.5 = 1.0,
            /// Factor on that of the right valve.
            right_gain_scale ["-"] 0.5 .. 1.5 = 1.0,
            /// Highest pressure the supply can give.
            maximum_pressure_pa [Pa] 100000.0 .. 20000000.0 = 3600000.0,
            /// Dead time in warm oil.
            dead_time_s [s] 0.0 .. 0.1 = 0.015,
            /// Time constant in warm oil.
            lag_s [s] 0.005 .. 0.5 = 0.04,
            /// Damping of a second-order loop of pressure that delays as much as the time constant does; 0: first order.
            damping_ratio ["-"] 0.0 .. 2.0 = 0.0,
            /// Factor on dead time and time constant in cold oil.
            cold_factor ["-"] 1.0 .. 10.0 = 4.0,
            /// Oil temperature from which the factor is 1.
            warm_degc [degC] 0.0 .. 100.0 = 40.0,
            /// Oil temperature at which the factor is the full one.
            cold_degc [degC] -60.0 .. -1.0 = -20.0,
        },
        /// Oil of the axle, for the drag of open packs; an invented transmission oil.
        oil: Oil {
            /// Kinematic viscosity at 40 degC.
            viscosity_40_mm2_s ["mm2/s"] 5.0 .. 500.0 = 34.0,
            /// The same at 100 degC.
            viscosity_100_mm2_s ["mm2/s"] 1.5 .. 50.0 = 7.2,
            /// Density.
            density_kg_m3 ["kg/m3"] 600.0 .. 1200.0 = 850.0,
            /// Height of the oil film between open plates; 0: their drag is `clutch.drag_nm`.
            film_m [m] 0.0 .. 0.002 = 0.0,
            /// Slip at which half of the film is broken by air.
            aeration_slip_rad_s ["rad/s"] 1.0 .. 1000.0 = 30.0,
        },
        /// Heat paths of the axle: surface and core of each clutch, oil, housing, ambient air.
        heat: Heat {
            /// Heat capacity of the rubbing surfaces of one clutch.
            surface_capacity_j_k ["J/K"] 10.0 .. 5000.0 = 150.0,
            /// Heat capacity of the core of one clutch.
            core_capacity_j_k ["J/K"] 10.0 .. 20000.0 = 900.0,
            /// Heat capacity of the oil.
            oil_capacity_j_k ["J/K"] 100.0 .. 20000.0 = 1500.0,
            /// Heat capacity of the housing.
            housing_capacity_j_k ["J/K"] 100.0 .. 100000.0 = 9000.0,
            /// Conductance from surface to core, one clutch.
            surface_core_w_k ["W/K"] 1.0 .. 10000.0 = 600.0,
            /// Conductance from surface to oil, one clutch.
            surface_oil_w_k ["W/K"] 0.0 .. 5000.0 = 40.0,
            /// Conductance from core to oil, one clutch.
            core_oil_w_k ["W/K"] 0.0 .. 5000.0 = 60.0,
            /// Conductance from oil to housing.
            oil_housing_w_k ["W/K"] 0.0 .. 5000.0 = 80.0,
            /// Conductance from housing to air at standstill.
            housing_air_w_k ["W/K"] 0.0 .. 1000.0 = 9.0,
            /// Rise of that conductance with vehicle speed.
            housing_air_per_speed_w_k_m_s ["W s/(K m)"] 0.0 .. 100.0 = 0.95,
        },
        /// Plates and linings of one clutch, in place of its lumped surface and core: for runs in which heat is the question.
        plates: Plates {
            /// 1: conduction through plates and linings, oil flow; 0: lumped surface and core of `heat`.
            conduction ["-"] 0.0 .. 1.0 = 0.0,
            /// Thickness of a steel plate. Chosen.
            steel_thickness_m [m] 0.0005 .. 0.01 = 0.0018,
            /// Thickness of the plate that carries a lining on both faces. Chosen.
            carrier_thickness_m [m] 0.0002 .. 0.01 = 0.0008,
            /// Conductivity of the steel; it, density and heat from a public course.
            steel_conductivity_w_m_k ["W/(m K)"] 5.0 .. 400.0 = 50.0,
            /// Density of the steel.
            steel_density_kg_m3 ["kg/m3"] 1000.0 .. 20000.0 = 7800.0,
            /// Specific heat of the steel.
            steel_heat_j_kg_k ["J/(kg K)"] 100.0 .. 2000.0 = 480.0,
            /// Thickness of one lining. Chosen.
            lining_thickness_m [m] 0.0001 .. 0.005 = 0.0005,
            /// Conductivity of the oil-soaked paper lining; it, density and heat from memory, low confidence.
            lining_conductivity_w_m_k ["W/(m K)"] 0.02 .. 50.0 = 0.2,
            /// Density of the lining.
            lining_density_kg_m3 ["kg/m3"] 200.0 .. 10000.0 = 1100.0,
            /// Specific heat of the lining.
            lining_heat_j_kg_k ["J/(kg K)"] 100.0 .. 4000.0 = 1500.0,
            /// Heat capacity of drum and hub. Chosen: with the plates as much as the lumped clutch has.
            drum_capacity_j_k ["J/K"] 10.0 .. 20000.0 = 590.0,
            /// Conductance from all steel plates along their planes to the drum. Chosen.
            steel_drum_w_k ["W/K"] 0.0 .. 10000.0 = 300.0,
            /// Conductance from all carriers along their planes to the hub. Chosen.
            carrier_drum_w_k ["W/K"] 0.0 .. 10000.0 = 100.0,
            /// Conductance from drum and hub to the oil. Chosen.
            drum_oil_w_k ["W/K"] 0.0 .. 5000.0 = 60.0,
            /// Conductance from the contacts to oil in their grooves. Chosen.
            groove_oil_w_k ["W/K"] 0.0 .. 5000.0 = 55.0,
            /// Oil flow through the pack at standstill, as capacity rate (60 W/K are 2 l/min). Chosen.
            flow_w_k ["W/K"] 0.0 .. 5000.0 = 60.0,
            /// Rise of that flow with vehicle speed. Chosen.
            flow_per_speed_w_s_k_m ["W s/(K m)"] 0.0 .. 500.0 = 3.0,
        },
        /// Single-axle trailer on a ball hitch; the numbers are an invented caravan that a scenario couples by its mass.
        trailer: Trailer {
            /// Mass; 0: no trailer.
            mass_kg [kg] 0.0 .. 3500.0 = 0.0,
            /// Radius of gyration about the vertical axis through its centre of gravity.
            gyration_radius_m [m] 0.3 .. 4.0 = 1.25,
            /// Hitch behind the rear axle of the car.
            hitch_behind_rear_axle_m [m] 0.0 .. 2.5 = 0.95,
            /// Height of the hitch.
            hitch_height_m [m] 0.2 .. 1.0 = 0.42,
            /// From the hitch to the axle of the trailer.
            hitch_to_axle_m [m] 1.0 .. 9.0 = 3.6,
            /// Centre of gravity ahead of the axle of the trailer: it gives the load on the hitch.
            gravity_ahead_of_axle_m [m] -0.5 .. 1.0 = 0.18,
            /// Height of the centre of gravity.
            gravity_height_m [m] 0.2 .. 2.0 = 0.75,
            /// Distance between its wheels.
            track_m [m] 0.8 .. 2.6 = 1.75,
            /// Largest cornering stiffness of one of its tyres over load.
            cornering_stiffness_max_n_rad ["N/rad"] 5000.0 .. 300000.0 = 80000.0,
            /// Load at which the cornering stiffness is largest.
            cornering_stiffness_load_n [N] 1000.0 .. 50000.0 = 8000.0,
            /// Lateral peak friction over road friction.
            peak_scale_lateral ["-"] 0.1 .. 2.0 = 1.0,
            /// Lateral relaxation length.
            relaxation_lateral_m [m] 0.05 .. 2.0 = 0.4,
            /// Rolling resistance force over wheel load.
            rolling_resistance ["-"] 0.0 .. 0.1 = 0.012,
            /// Drag coefficient times frontal area, behind the car.
            drag_area_m2 [m2] 0.0 .. 6.0 = 1.2,
        },
        /// Roll and pitch of the body as motions; off by default, then the wheel loads follow with their lag. Invented.
        suspension: Suspension {
            /// Roll stiffness of both axles together; off unless it exceeds mass times gravity times height.
            roll_stiffness_nm_rad ["N m/rad"] 0.0 .. 500000.0 = 0.0,
            /// Roll damping of both axles together.
            roll_damping_nm_s_rad ["N m s/rad"] 0.0 .. 30000.0 = 3500.0,
            /// Moment of inertia about the x axis through the centre of gravity.
            roll_inertia_kg_m2 ["kg m2"] 100.0 .. 4000.0 = 550.0,
            /// Pitch stiffness; off unless it exceeds mass times gravity times height.
            pitch_stiffness_nm_rad ["N m/rad"] 0.0 .. 1000000.0 = 0.0,
            /// Pitch damping.
            pitch_damping_nm_s_rad ["N m s/rad"] 0.0 .. 60000.0 = 8000.0,
            /// Moment of inertia about the y axis through the centre of gravity.
            pitch_inertia_kg_m2 ["kg m2"] 300.0 .. 12000.0 = 2600.0,
        },
    }
}

impl Vehicle {
    /// Distance of the front axle ahead of the centre of gravity, m.
    pub fn front_axle_m(&self) -> f64 {
        self.body.wheelbase_m * (1.0 - self.body.front_load_share)
    }

    /// Distance of the rear axle behind the centre of gravity, m.
    pub fn rear_axle_m(&self) -> f64 {
        self.body.wheelbase_m * self.body.front_load_share
    }
}
